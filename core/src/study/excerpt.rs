//! A passage out of a piece: from one place to another, with the arrival on what follows.
//!
//! The computer and the pedal cut by these rules, so that they cut the same.

use super::{Attack, ExpectedNote, Marks};
use crate::units::Ticks;

/// How long the arrival on what follows is written: a quarter note, as in landings that are written.
const ARRIVAL: Ticks = Ticks::new(Ticks::PER_QUARTER);

/// Where a passage begins and ends in a piece. Notes are taken out of the piece one by one, in their
/// order, with [`Excerpt::take`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Excerpt {
    begins: Ticks,
    /// Where it ends before the piece does, and arrives on the event that begins there or after.
    ends: Option<Ticks>,
    arrives: Option<Ticks>,
}

impl Excerpt {
    /// From the beginning of a piece to this place. It arrives on the first event from there on that is
    /// no landing itself.
    pub fn up_to(ends: Ticks, notes: &[ExpectedNote]) -> Self {
        let proper = notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
        let arrives = proper.map(|note| note.onset).find(|onset| *onset >= ends);
        Self { begins: Ticks::ZERO, ends: Some(ends), arrives }
    }

    /// From this place to the end of a piece.
    pub const fn onwards(begins: Ticks) -> Self {
        Self { begins, ends: None, arrives: None }
    }

    /// From event `from` to event `to`, both counted from 0 and both in it, and the arrival on the next.
    /// It begins earlier where `from` is slurred to or a trill sounds there, and ends later where a
    /// slur goes on or a trill does: slurs and trills are whole. `to` may be the landing, or lie beyond the end. `None` if
    /// there is nothing in it.
    pub fn of_events(notes: &[ExpectedNote], from: usize, to: usize) -> Option<Self> {
        let mut begins = nth(notes, from)?;
        while is_bound(notes, begins) {
            begins = before(notes, begins)?;
        }
        // What is after the last event, and what of that is not bound to it.
        let mut next = nth(notes, to).and_then(|last| after(notes, last));
        while let Some(at) = next.filter(|at| is_bound(notes, *at)) {
            next = after(notes, at);
        }
        let landing = || notes.iter().find(|note| note.marks.has(Marks::LANDING));
        let excerpt = match next {
            // The piece's own landing stays what it is.
            Some(at) if landing().is_some_and(|note| note.onset <= at) => Self::onwards(begins),
            Some(at) => Self { begins, ends: Some(at), arrives: Some(at) },
            None => Self::onwards(begins),
        };
        let own = |note: &ExpectedNote| !note.marks.has(Marks::LANDING);
        notes.iter().any(|note| own(note) && excerpt.take(note).is_some()).then_some(excerpt)
    }

    /// Where it begins in the piece.
    pub const fn begins(&self) -> Ticks {
        self.begins
    }

    /// How long it is, without the arrival, in a piece of this length.
    pub fn length(&self, piece: Ticks) -> Ticks {
        self.ends.unwrap_or(piece).since(self.begins)
    }

    /// Whether a note is only the arrival on what follows.
    pub fn is_arrival(&self, note: &ExpectedNote) -> bool {
        self.ends.is_some_and(|ends| note.onset >= ends)
    }

    /// A note of the piece as it is in the passage, counted from its beginning; `None` if it is not
    /// part of it. What still sounds at the end ends there. The first notes are plucked, since there is
    /// nothing they could be slurred from. How long the arrival lasts is not judged.
    pub fn take(&self, note: &ExpectedNote) -> Option<ExpectedNote> {
        if note.onset < self.begins {
            return None;
        }
        let onset = note.onset.since(self.begins);
        let is_cut_off = self.begins > Ticks::ZERO && onset == Ticks::ZERO;
        let attack = if is_cut_off { Attack::Plucked } else { note.attack };
        let Some(ends) = self.ends else { return Some(ExpectedNote { onset, attack, ..*note }) };
        if note.marks.has(Marks::LANDING) {
            return None;
        }
        if note.onset < ends {
            let duration = note.duration.min(ends.since(note.onset));
            return Some(ExpectedNote { onset, attack, duration, ..*note });
        }
        if Some(note.onset) != self.arrives {
            return None;
        }
        let mut marks = Marks::LANDING;
        for kept in [Marks::ROLLED, Marks::SHIFT, Marks::ACCENT, Marks::SWEPT] {
            if note.marks.has(kept) {
                marks = marks.with(kept);
            }
        }
        Some(ExpectedNote { onset, marks, duration: ARRIVAL, trill: None, ..*note })
    }
}

/// When event `index` begins.
fn nth(notes: &[ExpectedNote], index: usize) -> Option<Ticks> {
    let mut at = notes.first()?.onset;
    for _ in 0..index {
        at = after(notes, at)?;
    }
    Some(at)
}

/// When the event after `at` begins.
fn after(notes: &[ExpectedNote], at: Ticks) -> Option<Ticks> {
    notes.iter().map(|note| note.onset).find(|onset| *onset > at)
}

/// When the event before `at` begins.
fn before(notes: &[ExpectedNote], at: Ticks) -> Option<Ticks> {
    notes.iter().map(|note| note.onset).take_while(|onset| *onset < at).last()
}

/// Whether a passage cannot begin at this event: a slur leads to it, or a trill sounds on.
fn is_bound(notes: &[ExpectedNote], at: Ticks) -> bool {
    let starts = notes.first().is_none_or(|first| first.onset == at);
    !starts
        && notes.iter().any(|note| {
            let slurred = note.onset == at && note.attack == Attack::Slurred;
            let through = note.onset < at && at < note.onset.plus(note.duration);
            slurred || through && note.trill.is_some()
        })
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::units::Pitch;
    use std::vec::Vec;

    const EIGHTH: u32 = Ticks::PER_QUARTER / 2;

    /// Eighths going up, with these slurred to, and a landing at the end.
    fn passage(events: u32, slurred: &[u32]) -> Vec<ExpectedNote> {
        let note = |index: u32| {
            let pitch = Pitch::new(50 + index as u8).unwrap();
            let mut note =
                ExpectedNote::plain(Ticks::new(index * EIGHTH), Ticks::new(EIGHTH), pitch);
            if slurred.contains(&index) {
                note.attack = Attack::Slurred;
            }
            if index == events {
                note.marks = Marks::LANDING;
            }
            note
        };
        (0..=events).map(note).collect()
    }

    fn pitches(notes: &[ExpectedNote], from: usize, to: usize) -> Vec<(u8, bool)> {
        let excerpt = Excerpt::of_events(notes, from, to).unwrap();
        let taken = notes.iter().filter_map(|note| excerpt.take(note));
        taken.map(|note| (note.pitch.number() - 50, note.marks.has(Marks::LANDING))).collect()
    }

    #[test]
    fn it_holds_its_events_and_arrives_on_the_next() {
        let notes = passage(8, &[]);
        assert_eq!(pitches(&notes, 2, 4), [(2, false), (3, false), (4, false), (5, true)]);
        let excerpt = Excerpt::of_events(&notes, 2, 4).unwrap();
        assert_eq!(excerpt.begins(), Ticks::new(2 * EIGHTH));
        assert_eq!(excerpt.length(Ticks::new(8 * EIGHTH)), Ticks::new(3 * EIGHTH));
        let taken: Vec<ExpectedNote> = notes.iter().filter_map(|n| excerpt.take(n)).collect();
        assert_eq!(taken[0].onset, Ticks::ZERO, "counted from its beginning");
        assert_eq!(taken[3].duration, ARRIVAL);
    }

    #[test]
    fn the_piece_s_own_landing_stays() {
        let notes = passage(8, &[]);
        let end = [(6, false), (7, false), (8, true)];
        assert_eq!(pitches(&notes, 6, 7), end);
        assert_eq!(pitches(&notes, 6, 8), end, "up to the landing");
        assert_eq!(pitches(&notes, 6, 99), end, "beyond the end");
        assert_eq!(Excerpt::of_events(&notes, 8, 8), None, "a landing alone is nothing");
        assert_eq!(Excerpt::of_events(&notes, 9, 9), None);
        assert_eq!(Excerpt::of_events(&[], 0, 0), None);
    }

    #[test]
    fn slurs_are_whole_on_both_sides() {
        let notes = passage(8, &[2, 3, 6]);
        // From the pluck before the slur, to the end of the one that begins at 5.
        let all: Vec<(u8, bool)> = (1..8).map(|index| (index, index == 7)).collect();
        assert_eq!(pitches(&notes, 3, 5), all);
        let excerpt = Excerpt::of_events(&notes, 1, 4).unwrap();
        let first = notes.iter().find_map(|note| excerpt.take(note)).unwrap();
        assert_eq!(first.attack, Attack::Plucked);
    }

    #[test]
    fn a_trill_is_not_cut() {
        let mut notes = passage(8, &[]);
        notes[2].trill = Pitch::new(53);
        notes[2].duration = Ticks::new(3 * EIGHTH);
        assert_eq!(pitches(&notes, 4, 5).first(), Some(&(2, false)));
        assert_eq!(pitches(&notes, 1, 2).last(), Some(&(5, true)));
    }

    #[test]
    fn halves_are_as_they_were_cut() {
        let notes = passage(8, &[4]);
        let at = Ticks::new(4 * EIGHTH);
        let first = Excerpt::up_to(at, &notes);
        let second = Excerpt::onwards(at);
        let taken = |excerpt: &Excerpt| notes.iter().filter_map(|n| excerpt.take(n)).count();
        assert_eq!((taken(&first), taken(&second)), (5, 5), "four notes and an arrival each");
        assert!(first.is_arrival(&notes[4]) && !first.is_arrival(&notes[3]));
        let begun = notes.iter().find_map(|note| second.take(note)).unwrap();
        assert_eq!(begun.attack, Attack::Plucked);
    }
}
