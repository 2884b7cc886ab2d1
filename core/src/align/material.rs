//! An attempt and its chunk, aligned and classified: what measures look at.

use super::{Class, PairingView, Role};
use crate::attempt::PlayedNote;
use crate::notes::level_of;
use crate::pickup::{Latency, Pickup};
use crate::study::{Chunk, ExpectedNote};
use crate::units::{GuitarString, Level, Offset, Pitch};
use core::ops::Range;

/// How late notes come, give or take as much, where that is not known.
const ONE_PERIOD: Latency = Latency { base: Offset::ZERO, periods_percent: 100 };

/// What was expected, what was played, and which is which.
#[derive(Clone, Copy, Debug)]
pub struct Material<'a> {
    /// The chunk.
    pub chunk: &'a Chunk<'a>,
    /// The played notes, in order of arrival.
    pub played: &'a [PlayedNote],
    /// Which played note is which expected note, and what class each has.
    pub pairing: PairingView<'a>,
    /// What they were heard with.
    pub pickup: &'a Pickup,
}

impl<'a> Material<'a> {
    /// The played note that is this expected note, with the right pitch.
    pub fn right(&self, expected: usize) -> Option<&'a PlayedNote> {
        let by = self.pairing.played(expected)?;
        self.played.get(by).filter(|_| self.pairing.class(by).is_right())
    }

    /// The class of the played note that is, or stands in place of, an expected one.
    pub fn class(&self, expected: usize) -> Option<Class> {
        Some(self.pairing.class(self.pairing.played(expected)?))
    }

    /// The played notes that no expected note and no trill accounts for, with their classes.
    pub fn extras(self) -> impl DoubleEndedIterator<Item = (usize, Class)> + use<'a> {
        let all = 0..self.played.len();
        all.filter(move |&by| self.pairing.role(by) == Role::Extra)
            .map(move |by| (by, self.pairing.class(by)))
    }

    /// When the note that is expected note `expected` was struck, as far as it is known: less
    /// [how late](Material::late) its string's notes come.
    pub fn struck_at(&self, expected: usize, note: &PlayedNote) -> Offset {
        let string = note.string.or_else(|| self.chunk.notes().get(expected)?.string);
        let late = self.late(note.pitch, string);
        Offset::from_micros(note.at.as_micros().saturating_sub(late.as_micros()))
    }

    /// How late a note is taken to come, beyond what the profile says, which is taken off already:
    /// what has been learnt of its string, and what is [taken for granted](Material::usually_late)
    /// where no profile says anything.
    pub fn late(&self, pitch: Pitch, string: Option<GuitarString>) -> Offset {
        let habits = &self.pickup.habits;
        let usual = self.usually_late(pitch).as_micros();
        let usual = usual.saturating_mul(100 + habits.periods_beyond()) / 100;
        let own = habits.late(string).map_or(0, |late| late.offset().as_micros());
        Offset::from_micros(usual.saturating_add(own))
    }

    /// How late a note is taken to come before anything has been learnt: of a pickup of which nothing
    /// is known notes come late by none to two periods, so one is taken off.
    pub fn usually_late(&self, pitch: Pitch) -> Offset {
        let is_unknown = self.pickup.latency == Latency::NONE;
        if is_unknown { ONE_PERIOD.of(pitch) } else { Offset::ZERO }
    }

    /// Expected notes that were played right, with their indices.
    pub fn right_notes(
        self,
    ) -> impl Iterator<Item = (usize, &'a ExpectedNote, &'a PlayedNote)> + use<'a> {
        let notes = self.chunk.notes();
        notes
            .iter()
            .enumerate()
            .filter_map(move |(index, wanted)| Some((index, wanted, self.right(index)?)))
    }

    /// How loud a note was played: its velocity's level without what the pickup adds to its
    /// string. `None` where no velocity was heard.
    pub fn level(&self, note: &PlayedNote) -> Option<Level> {
        Some(level_of(note.velocity?).above(self.pickup.string_level(note.string)))
    }

    /// The events of the chunk: ranges of expected notes that begin together.
    pub fn events(self) -> impl Iterator<Item = Range<usize>> + use<'a> {
        let notes = self.chunk.notes();
        let mut next = 0;
        core::iter::from_fn(move || {
            let first = next;
            let onset = notes.get(first)?.onset;
            while notes.get(next).is_some_and(|note| note.onset == onset) {
                next += 1;
            }
            Some(first..next)
        })
    }
}
