//! How long to wait before the player is taken to have stopped.

use super::parts::Parts;
use crate::study::Marks;
use crate::units::{Offset, Ticks};

/// A landing is waited for so long after it was due, at least, in microseconds. Our default.
const LANDING_OVERDUE: u32 = 2_000_000;

/// ... and no longer than this, however long the interval before it. Our default.
const LANDING_LONG_OVERDUE: u32 = 4_000_000;

/// Where it is in doubt whether a note is still to come, it is waited for as long as its interval and
/// half as much again, in microseconds no longer than this. Our default.
const IN_DOUBT: u32 = 1_000_000;

/// A last note is waited for no longer than this until it has been held, in microseconds. Our
/// default.
const HELD_ON: u32 = 10_000_000;

/// Its end is waited for by so much more, in microseconds, for what a converter takes to say it.
/// Our default.
const HELD_FOR_CERTAIN: u32 = 100_000;

/// How long after it was due a landing is waited for: twice its interval, within bounds.
fn overdue(interval: u32) -> u32 {
    interval.saturating_mul(2).clamp(LANDING_OVERDUE, LANDING_LONG_OVERDUE)
}

impl Parts<'_> {
    /// How long the attempt stays open if nothing more comes.
    pub(super) fn patience(&self) -> Offset {
        let lasting = |length: Ticks| {
            let nominal = self.state.setting().tempo.lasting(length).as_micros();
            self.aligner.progress.at_own_tempo(nominal.unsigned_abs())
        };
        let millis = |millis: u32| millis * 1_000;
        let notes = self.notes.as_slice();
        let proper = || notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
        let wait = if !self.aligner.is_complete() {
            // Silence: well over the gap that is written here.
            let next = self.aligner.notes_before(self.aligner.progress.events_behind());
            let here = notes.get(next.saturating_sub(1)).map_or(Ticks::ZERO, |note| note.onset);
            let gap = notes.get(next).map_or(Ticks::ZERO, |note| note.onset.since(here));
            lasting(gap).saturating_mul(3).clamp(millis(2_000), millis(10_000))
        } else {
            let last =
                proper().next_back().or(notes.last()).map_or(Ticks::ZERO, |note| note.duration);
            let landing = notes.last().filter(|note| note.marks.has(Marks::LANDING));
            match landing {
                // The landing is still to come, and is part of what is asked for. A trill may go on
                // until then.
                Some(landing) if !self.aligner.is_landed() => {
                    let from = proper().next_back().map_or(Ticks::ZERO, |note| note.onset);
                    let due = lasting(landing.onset.since(from));
                    let left = due.saturating_sub(self.since_last_event());
                    left.saturating_add(overdue(due))
                }
                // Half of the last note, so that the next loop's first note is the next's; and what
                // is asked of notes that are to be held.
                _ => (lasting(last) / 2)
                    .clamp(millis(80), millis(600))
                    .max(self.last_again(lasting))
                    .max(self.held_on(lasting).min(HELD_ON)),
            }
        };
        Offset::from_micros(i32::try_from(wait).unwrap_or(i32::MAX))
    }

    /// How long the last note of a chunk without a landing may still come after what seemed to be
    /// it, in microseconds: where its pitch was touched too soon, or the notes before it changed
    /// places.
    fn last_again(&self, lasting: impl Fn(Ticks) -> u32) -> u32 {
        let notes = self.notes.as_slice();
        let ends_here = notes.last().filter(|note| !note.marks.has(Marks::LANDING));
        let Some(last) = ends_here.filter(|_| self.aligner.progress.is_blemished()) else {
            return 0;
        };
        let before = notes.iter().rev().find(|note| note.onset < last.onset);
        let interval = before.map_or(0, |before| lasting(last.onset.since(before.onset)));
        (interval.saturating_mul(3) / 2).min(IN_DOUBT)
    }

    /// How long what seems to be the first event may be followed by nothing before it is none.
    pub(super) fn until_the_second_event(&self) -> Offset {
        let notes = self.notes.as_slice();
        let Some(first) = notes.first() else { return Offset::ZERO };
        let second = notes.iter().find(|note| note.onset > first.onset).unwrap_or(first);
        let nominal =
            self.state.setting().tempo.lasting(second.onset.since(first.onset)).as_micros();
        let interval = self.aligner.progress.at_own_tempo(nominal.unsigned_abs());
        let wait = (interval.saturating_mul(3) / 2).min(IN_DOUBT);
        Offset::from_micros(wait.cast_signed())
    }

    /// How long after the last note what is to be held must still sound, in microseconds.
    fn held_on(&self, lasting: impl Fn(Ticks) -> u32) -> u32 {
        let notes = self.notes.as_slice();
        let Some(last) = notes.last().map(|note| note.onset) else { return 0 };
        let share = u64::from(self.state.setting().tolerances.held_per_mille);
        let held = notes.iter().filter(|note| {
            note.marks.has(Marks::HELD) && note.trill.is_none() && !note.marks.has(Marks::LANDING)
        });
        let rest = held.filter_map(|note| {
            let asked = (u64::from(note.duration.get()) * share / 1_000) as u32;
            (note.onset.get() + asked).checked_sub(last.get())
        });
        rest.max().map_or(0, |rest| lasting(Ticks::new(rest)).saturating_add(HELD_FOR_CERTAIN))
    }

    /// How long before the last note the last event of the chunk began, in microseconds.
    fn since_last_event(&self) -> u32 {
        let played =
            self.attempt.notes().get(..self.aligner.progress.notes_aligned()).unwrap_or(&[]);
        let event = self.aligner.progress.last_event_note().and_then(|note| played.get(note));
        let (Some(event), Some(last)) = (event, played.last()) else { return 0 };
        last.at.as_micros().saturating_sub(event.at.as_micros()).max(0).unsigned_abs()
    }
}
