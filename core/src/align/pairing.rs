//! What came out of the alignment.

use super::class::{Class, Classified, Sureness};
use crate::limits::{EXPECTED_NOTES, PLAYED_NOTES};

/// Nothing. Notes are counted from 1 here, so that an empty pairing is all zero.
const NONE: u16 = 0;
/// The bits of a played note's entry that name an expected note; those above are its class and
/// how sure that is.
const NOTE: u16 = (1 << NOTE_BITS) - 1;
const NOTE_BITS: u32 = 9;
const CLASS_BITS: u32 = 4;
const _: () = assert!(EXPECTED_NOTES <= NOTE as usize, "an entry names any expected note");

const fn entry(note: usize) -> u16 {
    note as u16 + 1
}

fn note(entry: u16) -> Option<usize> {
    usize::from(entry & NOTE).checked_sub(1)
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
        match note(entry) {
            None => Role::Extra,
            Some(note) if self.classified(played).class == Class::Trill => Role::Trill(note),
            Some(note) => Role::Note(note),
        }
    }

    /// The class of a played note, and how sure that is; see
    /// [`classify`](crate::classify::classify). A note that is not there, or has not been
    /// classified, is [`Stray`](Class::Stray).
    pub fn classified(&self, played: usize) -> Classified {
        let bits = self.role_of.get(played).copied().unwrap_or(NONE) >> NOTE_BITS;
        Classified {
            class: Class::from_bits(bits & ((1 << CLASS_BITS) - 1)),
            sureness: Sureness::from_bits(bits >> CLASS_BITS),
        }
    }

    /// The class of a played note alone.
    pub fn class(&self, played: usize) -> Class {
        self.classified(played).class
    }

    /// Keeps the class of a played note.
    pub(crate) fn classify(&mut self, played: usize, classified: Classified) {
        if let Some(entry) = self.role_of.get_mut(played) {
            let bits = classified.class as u16 | (classified.sureness as u16) << CLASS_BITS;
            *entry = *entry & NOTE | bits << NOTE_BITS;
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
            *from = entry(start);
        }
        self.classify(played, Classified { class: Class::Trill, sureness: Sureness::Certain });
    }
}
