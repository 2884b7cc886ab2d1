//! A session's parts, whatever its capacities.

use super::{Judged, LoadError, SessionConfig, Stage, State};
use crate::align::{Aligner, PairingMut};
use crate::attempt::Attempt;
use crate::notes::{Converter, NoteEvent};
use crate::pickup::{Habits, Pickup};
use crate::study::{Chunk, ExpectedNote};
use crate::units::Instant;
use crate::zeroed_option::ZeroedOption;
use heapless::VecView;
use wmidi::MidiMessage;

/// A session by its parts. What listens and judges is written for them and not for a session, so
/// that it is compiled once.
pub(super) struct Parts<'s> {
    pub(super) state: &'s mut State,
    pub(super) notes: &'s mut VecView<ExpectedNote>,
    pub(super) attempt: &'s mut Attempt,
    pub(super) aligner: Aligner<'s>,
    pub(super) pairing: PairingMut<'s>,
}

impl<'s> Parts<'s> {
    pub(super) fn load(
        &mut self,
        chunk: &Chunk<'_>,
        config: SessionConfig,
    ) -> Result<(), LoadError> {
        let (notes, room) = (chunk.notes(), self.notes.capacity());
        if notes.len() > room {
            return Err(LoadError::TooManyNotes { notes: notes.len(), room });
        }
        // What has been learnt since does not make it another pickup.
        let before = Pickup { habits: config.pickup.habits, ..self.state.config().pickup };
        if config.pickup != before {
            self.state.converter.put(Converter::new(&config.pickup));
        }
        self.notes.clear();
        // There is room.
        let _ = self.notes.extend_from_slice(notes);
        self.aligner.change(chunk);
        self.state.setting.put(chunk.setting());
        self.state.config.put(config);
        self.attempt.begin(&config.pickup);
        self.state.waiting.clear();
        self.state.lost = 0;
        self.state.false_starts = 0;
        self.begin_listening();
        Ok(())
    }

    pub(super) fn learn(&mut self, habits: &Habits) {
        let config = *self.state.config();
        let pickup = Pickup { habits: *habits, ..config.pickup };
        self.state.config.put(SessionConfig { pickup, ..config });
    }

    pub(super) fn unload(&mut self) {
        // There is always room for nothing.
        let _ = self.load(&Chunk::SILENCE, *self.state.config());
    }

    pub(super) fn hear(&mut self, event: NoteEvent, now: Instant) {
        let now = now.max(self.state.latest);
        self.state.latest = now;
        self.begin_next();
        self.expire(now);
        if matches!(self.state.stage, Stage::Over) || !self.state.waiting.is_empty() {
            if self.state.waiting.push_back((event, now)).is_err() {
                self.state.lost = self.state.lost.saturating_add(1);
            }
            return;
        }
        self.take(event, now);
    }

    /// Gives what is over at the latest time.
    pub(super) fn poll(mut self) -> Option<Judged<'s>> {
        self.begin_next();
        self.expire(self.state.latest);
        self.fetch()
    }

    pub(super) fn finish(mut self) -> Option<Judged<'s>> {
        self.begin_next();
        if matches!(self.state.stage, Stage::Playing(_) | Stage::Waiting) {
            self.stop();
        }
        self.fetch()
    }

    pub(super) fn discard(&mut self) {
        self.state.waiting.clear();
        self.attempt.forget(usize::MAX);
        self.begin_listening();
    }

    pub(super) fn pass_over(&mut self, until: u32) {
        let before = until.saturating_sub(self.attempt.forgotten()) as usize;
        if before == 0 {
            return;
        }
        self.attempt.forget(before);
        self.listen_anew();
    }

    pub(super) fn interrupt(&mut self) -> bool {
        let under_way = self.state.playing().is_some();
        self.state.wire.interrupt();
        if let ZeroedOption::There(converter) = &mut self.state.converter {
            let _ = converter.hear(&MidiMessage::Reset);
        }
        self.discard();
        under_way
    }

    fn fetch(self) -> Option<Judged<'s>> {
        let Parts { state, notes, attempt, pairing, .. } = self;
        if !matches!(state.stage, Stage::Over) {
            return None;
        }
        state.stage = Stage::Fetched;
        let false_starts = core::mem::take(&mut state.false_starts);
        Some(Judged {
            verdict: state.verdict.get()?,
            chunk: Chunk::of(notes, *state.setting()),
            played: attempt.notes().get(..state.judged).unwrap_or(&[]),
            began: attempt.start().unwrap_or(state.latest),
            first_note: attempt.forgotten(),
            pairing: pairing.into_view(),
            pickup: state.pickup(),
            before_landing: state.proper,
            match_score: state.match_score,
            false_starts,
        })
    }
}
