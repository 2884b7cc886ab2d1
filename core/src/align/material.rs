//! An attempt and its chunk, aligned: what everything after the alignment looks at.

use super::Pairing;
use crate::attempt::PlayedNote;
use crate::notes::level_of;
use crate::pickup::Pickup;
use crate::study::{Chunk, ExpectedNote};
use crate::units::Level;
use core::ops::Range;

/// What was expected, what was played, and which is which.
#[derive(Clone, Copy, Debug)]
pub struct Material<'a> {
    /// The chunk.
    pub chunk: &'a Chunk<'a>,
    /// The played notes, in order of arrival.
    pub played: &'a [PlayedNote],
    /// Which played note is which expected note.
    pub pairing: &'a Pairing,
    /// What they were heard with.
    pub pickup: &'a Pickup,
}

impl<'a> Material<'a> {
    /// The played note that is this expected note, with the right pitch.
    pub fn right(&self, expected: usize) -> Option<&'a PlayedNote> {
        let wanted = self.chunk.notes().get(expected)?;
        self.played.get(self.pairing.played(expected)?).filter(|note| note.pitch == wanted.pitch)
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
