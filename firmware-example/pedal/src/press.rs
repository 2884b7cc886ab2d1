//! What feet say, in each mode. The table for players is in `docs/pedal.md`.

use evenhand_core::feet::{Gesture, Steps, asked, offered};
use evenhand_core::practice::{Choices, Press, Stage};
use evenhand_core::units::Instant;

use crate::mode::{Mode, Shown};
use crate::music::Music;
use crate::observer::Observer;
use crate::pedal::Pedal;

impl<const N: usize> Pedal<'_, N> {
    /// Takes what feet said.
    pub fn press(
        &mut self,
        gesture: Gesture,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        match self.mode {
            Mode::NoStudy => {}
            _ if gesture == Gesture::BothHeld => self.ask(Press::Hurts, now, music, observer),
            Mode::Practising if gesture == Gesture::Both => {
                self.misheard(now, music, observer);
            }
            _ if gesture == Gesture::Both => {}
            Mode::Choosing { chunk } => self.in_chunks(chunk, gesture, now, music, observer),
            Mode::Studies { study } => self.in_studies(study, gesture, now, music),
            Mode::Over { .. } => {
                if matches!(gesture, Gesture::Left(Steps::Held) | Gesture::Right(Steps::Held)) {
                    self.choose_from(music, 0, now);
                }
            }
            Mode::Tempo => match gesture {
                Gesture::Left(Steps::Once) => self.ask(Press::Slower, now, music, observer),
                Gesture::Right(Steps::Once) => self.ask(Press::Faster, now, music, observer),
                _ => {
                    self.enter(Mode::Practising, now);
                    self.engine.press(Press::Again, now);
                }
            },
            Mode::Practising | Mode::Broken => self.in_practice(gesture, now, music, observer),
        }
    }

    fn in_chunks(
        &mut self,
        chunk: u8,
        gesture: Gesture,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        match gesture {
            Gesture::Left(Steps::Once) => {
                let last = music.chunks().saturating_sub(1);
                self.choose_from(music, chunk.checked_sub(1).unwrap_or(last), now);
            }
            Gesture::Right(Steps::Once) => {
                self.choose_from(music, chunk.saturating_add(1), now);
            }
            Gesture::Left(Steps::Held) if music.studies() > 1 => {
                self.enter(Mode::Studies { study: music.study() }, now);
            }
            _ => self.begin(chunk, now, music, observer),
        }
    }

    fn in_studies(&mut self, study: u8, gesture: Gesture, now: Instant, music: &impl Music) {
        let last = music.studies().saturating_sub(1);
        let study = match gesture {
            Gesture::Left(Steps::Once) => study.checked_sub(1).unwrap_or(last),
            Gesture::Right(Steps::Once) if study < last => study.saturating_add(1),
            Gesture::Right(Steps::Once) => 0,
            _ => {
                self.study = Some(study);
                return;
            }
        };
        self.enter(Mode::Studies { study }, now);
    }

    fn in_practice(
        &mut self,
        gesture: Gesture,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        let offer = if self.is_offering() { self.offer } else { Choices::NONE };
        let press = match (gesture, offered(gesture, offer)) {
            (Gesture::Left(Steps::Held), _) => {
                let chunk = self.task.map_or(0, |task| task.piece.span().0);
                return self.choose_from(music, chunk, now);
            }
            (_, Some(choice)) => Press::Choose(choice),
            (Gesture::Right(Steps::Held), None) if self.mode == Mode::Practising => {
                self.engine.wait(now);
                return self.enter(Mode::Tempo, now);
            }
            // A rest is over when the player says so.
            _ if matches!(self.engine.stage(), Stage::Resting { .. }) => Press::Again,
            (Gesture::Right(_), None) => Press::Next,
            (_, None) => asked(gesture).unwrap_or(Press::Again),
        };
        self.ask(press, now, music, observer);
    }

    /// The last attempt is as if it had not been played. What is under way goes on, if it is at the same.
    fn misheard(&mut self, now: Instant, music: &impl Music, observer: &mut impl Observer) {
        let Some(step) = self.engine.press(Press::Misheard, now) else { return };
        self.enter(Mode::Practising, now);
        self.shown = Shown::TakenBack { since: now };
        self.follow(&step, now, music, observer);
        // After that, since what is taken together with what may have changed there.
        self.pool.take_back(&mut self.config.pickup.habits);
        self.session.learn(&self.config.pickup.habits);
    }

    /// Asks practice for something. What is under way is judged before as far as it has come, but
    /// for what is begun anew, and where it hurts.
    fn ask(
        &mut self,
        press: Press,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        match press {
            Press::Again => self.session.discard(),
            Press::Hurts => {}
            _ => self.finish(now, music, observer),
        }
        let mode = if self.mode == Mode::Tempo { Mode::Tempo } else { Mode::Practising };
        let step = self.engine.press(press, now);
        if step.is_some() || press == Press::Again {
            self.enter(mode, now);
        }
        if let Some(step) = step {
            self.follow(&step, now, music, observer);
        }
    }
}
