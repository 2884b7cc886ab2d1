//! What feet say, in each state. The table for players is in `docs/pedal.md`.

use evenhand_core::board::Press;
use evenhand_core::next_step::{Choice, NotPossible, Piece, Reason, Step};
use evenhand_core::units::{Instant, Tempo};

use crate::feet::Gesture;
use crate::music::Music;
use crate::pedal::{Pedal, seconds};
use crate::room::Room;
use crate::state::{After, State};

/// One step of the tempo switch, in per mille; at least two beats a minute. Our default.
const TEMPO_STEP: u32 = 50;

impl<const N: usize> Pedal<'_, N> {
    /// Takes what feet said.
    pub fn press(
        &mut self,
        gesture: Gesture,
        now: Instant,
        music: &impl Music,
        room: &mut impl Room,
    ) {
        use Press::{Long, Short};
        if gesture == Gesture::Both {
            return self.hurts(now, music, room);
        }
        match (self.state, gesture) {
            (State::NoStudy, _) | (_, Gesture::Both) => {}
            (State::Choosing { chunk }, Gesture::Left(Short)) => {
                let last = music.chunks().saturating_sub(1);
                self.choose_from(music, chunk.checked_sub(1).unwrap_or(last), now);
            }
            (State::Choosing { chunk }, Gesture::Right(Short)) => {
                self.choose_from(music, chunk.saturating_add(1), now);
            }
            (State::Choosing { .. }, Gesture::Left(Long)) if music.studies() > 1 => {
                self.enter(State::Studies { study: music.study() }, now);
            }
            (State::Studies { study }, Gesture::Left(Short)) => {
                let last = music.studies().saturating_sub(1);
                let study = study.checked_sub(1).unwrap_or(last);
                self.enter(State::Studies { study }, now);
            }
            (State::Studies { study }, Gesture::Right(Short)) => {
                let next = study.saturating_add(1);
                let study = if next < music.studies() { next } else { 0 };
                self.enter(State::Studies { study }, now);
            }
            (State::Studies { study }, _) => self.study = Some(study),
            (State::Choosing { chunk }, Gesture::Left(Long) | Gesture::Right(Long)) => {
                self.begin(chunk, now, music, room);
            }
            (State::Over { .. }, Gesture::Left(Long) | Gesture::Right(Long)) => {
                self.choose_from(music, 0, now);
            }
            (State::Over { .. }, _) => {}
            (State::Tempo, Gesture::Left(Short)) => self.change_tempo(false, now, music, room),
            (State::Tempo, Gesture::Right(Short)) => self.change_tempo(true, now, music, room),
            (State::Tempo, _) => self.count_in(now),
            (_, Gesture::Left(Long)) => {
                let chunk = self.task.map_or(0, |task| first_chunk(task.piece));
                self.choose_from(music, chunk, now);
            }
            (_, Gesture::Right(Long)) => self.enter(State::Tempo, now),
            (State::Offer(offer), Gesture::Left(Short)) if offer.has(Choice::Shorter) => {
                self.choose(Choice::Shorter, now, music, room);
            }
            (State::Offer(offer), Gesture::Right(Short)) => {
                let other = [Choice::Rhythm, Choice::Burst, Choice::Fingering];
                match other.into_iter().find(|choice| offer.has(*choice)) {
                    Some(choice) => self.choose(choice, now, music, room),
                    None => self.count_in(now),
                }
            }
            (_, Gesture::Left(Short)) => {
                self.desk.discard();
                self.count_in(now);
            }
            (State::Rest, Gesture::Right(Short)) => self.count_in(now),
            (_, Gesture::Right(Short)) => self.next_chunk(now, music, room),
        }
    }

    fn choose(&mut self, choice: Choice, now: Instant, music: &impl Music, room: &mut impl Room) {
        let step = self.practice.choose(choice, seconds(now));
        self.follow_or_count_in(step, now, music, room);
    }

    fn next_chunk(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        let here = self.task.map_or(0, |task| last_chunk(task.piece));
        let next = Piece::Chunk(here.saturating_add(1));
        let step = self.practice.go_to(next, seconds(now));
        let step = step.or_else(|_| self.practice.go_to(Piece::Chunk(0), seconds(now)));
        self.follow_or_count_in(step, now, music, room);
    }

    fn change_tempo(
        &mut self,
        faster: bool,
        now: Instant,
        music: &impl Music,
        room: &mut impl Room,
    ) {
        let Some(task) = self.task else { return };
        let beat = self.desk.chunk().metre().beat();
        let beats = (task.tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
        let step = (beats * TEMPO_STEP / 1_000).max(2);
        let beats = if faster { beats + step } else { beats.saturating_sub(step).max(1) };
        let Some(tempo) = Tempo::from_beats_per_minute(beats, beat) else { return };
        if let Ok(step) = self.practice.at_tempo(tempo) {
            room.next(&step, now);
            let after = self.load(&step, music, room);
            if after.broken {
                return self.follow(after, now);
            }
            self.enter(State::Tempo, now);
        }
    }

    fn hurts(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        if matches!(self.state, State::NoStudy) {
            return;
        }
        let step = self.practice.hurts();
        self.put_up(&Step { reason: Reason::Hurts, ..step }, now, music, room);
    }

    fn follow_or_count_in(
        &mut self,
        step: Result<Step, NotPossible>,
        now: Instant,
        music: &impl Music,
        room: &mut impl Room,
    ) {
        match step {
            Ok(step) => {
                room.next(&step, now);
                let after = self.load(&step, music, room);
                self.follow(After { changed: true, ..after }, now);
            }
            Err(_) => self.count_in(now),
        }
    }
}

/// The first chunk of a piece.
const fn first_chunk(piece: Piece) -> u8 {
    match piece {
        Piece::Chunk(chunk) | Piece::Half(chunk, _) | Piece::Seam(chunk) => chunk,
        Piece::Join { first, .. } => first,
    }
}

/// The last chunk of a piece, for what comes after it.
const fn last_chunk(piece: Piece) -> u8 {
    match piece {
        Piece::Chunk(chunk) | Piece::Half(chunk, _) | Piece::Seam(chunk) => chunk,
        Piece::Join { last, .. } => last,
    }
}
