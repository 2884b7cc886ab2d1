//! What came out of the alignment.

use crate::limits::{EXPECTED_NOTES, PLAYED_NOTES};

/// Nothing. Notes are counted from 1 here, so that an empty pairing is all zero.
const NONE: u16 = 0;
/// Set in a played note's entry when it is a note of the trill that starts with that one.
const TRILLED: u16 = 0x8000;

const fn entry(note: usize) -> u16 {
    note as u16 + 1
}

fn note(entry: u16) -> Option<usize> {
    usize::from(entry).checked_sub(1)
}

/// What a played note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Role {
    /// It is this expected note, or stands in its place with a wrong pitch.
    Note(usize),
    /// It belongs to the trill that starts with this expected note.
    Trill(usize),
    /// It was not expected.
    Extra,
}

/// Which played note is which expected note, one to one.
#[derive(Clone, Debug)]
pub struct Pairing {
    played_of: [u16; EXPECTED_NOTES],
    role_of: [u16; PLAYED_NOTES],
    expected: usize,
    played: usize,
}

impl Default for Pairing {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl Pairing {
    /// Nothing expected, nothing played.
    pub const EMPTY: Self = Self::none(0, 0);

    /// Forgets everything; so many notes were expected and played.
    pub(super) fn begin(&mut self, expected: usize, played: usize) {
        self.played_of.fill(NONE);
        self.role_of.fill(NONE);
        (self.expected, self.played) = (expected, played);
    }

    pub(super) const fn none(expected: usize, played: usize) -> Self {
        Self { played_of: [NONE; EXPECTED_NOTES], role_of: [NONE; PLAYED_NOTES], expected, played }
    }

    /// The played note that is (or stands in place of) an expected note.
    pub fn played(&self, expected: usize) -> Option<usize> {
        note(*self.played_of.get(expected)?)
    }

    /// What a played note is.
    pub fn role(&self, played: usize) -> Role {
        let entry = self.role_of.get(played).copied().unwrap_or(NONE);
        match note(entry & !TRILLED) {
            None => Role::Extra,
            Some(note) if entry & TRILLED != 0 => Role::Trill(note),
            Some(note) => Role::Note(note),
        }
    }

    /// How many notes were expected.
    pub const fn expected_notes(&self) -> usize {
        self.expected
    }

    /// How many notes were played.
    pub const fn played_notes(&self) -> usize {
        self.played
    }

    pub(super) fn pair(&mut self, expected: usize, played: usize) {
        if let (Some(to), Some(from)) =
            (self.played_of.get_mut(expected), self.role_of.get_mut(played))
        {
            *to = entry(played);
            *from = entry(expected);
        }
    }

    pub(super) fn part(&mut self, expected: usize) {
        if let Some(played) = self.played(expected) {
            if let Some(from) = self.role_of.get_mut(played) {
                *from = NONE;
            }
            if let Some(to) = self.played_of.get_mut(expected) {
                *to = NONE;
            }
        }
    }

    pub(super) fn trill(&mut self, start: usize, played: usize) {
        if let Some(from) = self.role_of.get_mut(played) {
            *from = entry(start) | TRILLED;
        }
    }
}
