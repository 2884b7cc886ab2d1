//! What came out of the alignment.

use super::class::{Class, Classified, Sureness};
use crate::limits::{EXPECTED_NOTES, PLAYED_NOTES};

/// Nothing. Notes are counted from 1 here, so that an empty pairing is all zero.
const NONE: u16 = 0;
/// The bits of a played note's entry that name an expected note; those above are its class and
/// how sure that is.
const NOTE: u16 = (1 << NOTE_BITS) - 1;
const NOTE_BITS: u32 = 9;
const CLASS_BITS: u32 = 5;
const _: () = assert!(EXPECTED_NOTES <= NOTE as usize, "an entry names any expected note");

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

/// Which played note is which expected note, one to one. What looks at it has a [`PairingView`].
#[derive(Clone, Copy, Debug)]
pub struct Pairing<E = [u16; EXPECTED_NOTES], P = [u16; PLAYED_NOTES]> {
    played_of: E,
    role_of: P,
}

/// A pairing that is kept elsewhere, whatever there is room for.
pub type PairingView<'a> = Pairing<&'a [u16], &'a [u16]>;

/// The same while it is made.
pub(crate) type PairingMut<'a> = Pairing<&'a mut [u16], &'a mut [u16]>;

impl Default for Pairing {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl<const EXPECTED: usize, const PLAYED: usize> Pairing<[u16; EXPECTED], [u16; PLAYED]> {
    /// Nothing expected, nothing played.
    pub const EMPTY: Self = Self { played_of: [NONE; EXPECTED], role_of: [NONE; PLAYED] };

    /// To look at.
    pub const fn view(&self) -> PairingView<'_> {
        Pairing { played_of: &self.played_of, role_of: &self.role_of }
    }

    /// To write to.
    pub(crate) const fn writable(&mut self) -> PairingMut<'_> {
        Pairing { played_of: &mut self.played_of, role_of: &mut self.role_of }
    }
}

impl PairingView<'_> {
    /// The same to keep.
    pub fn kept(self) -> Pairing {
        let mut kept = Pairing::EMPTY;
        kept.played_of.iter_mut().zip(self.played_of).for_each(|(to, from)| *to = *from);
        kept.role_of.iter_mut().zip(self.role_of).for_each(|(to, from)| *to = *from);
        kept
    }
}

impl<E: AsRef<[u16]>, P: AsRef<[u16]>> Pairing<E, P> {
    /// The played note that is (or stands in place of) an expected note.
    pub fn played(&self, expected: usize) -> Option<usize> {
        note(*self.played_of.as_ref().get(expected)?)
    }

    /// What a played note is.
    pub fn role(&self, played: usize) -> Role {
        let entry = self.role_of.as_ref().get(played).copied().unwrap_or(NONE);
        match note(entry & NOTE) {
            None => Role::Extra,
            Some(note) if self.classified(played).class == Class::Trill => Role::Trill(note),
            Some(note) => Role::Note(note),
        }
    }

    /// The class of a played note, and how sure that is; see [`classify`](crate::classify). A note
    /// that is not there, or has not been classified, is [`Stray`](Class::Stray).
    pub fn classified(&self, played: usize) -> Classified {
        let bits = self.role_of.as_ref().get(played).copied().unwrap_or(NONE) >> NOTE_BITS;
        Classified {
            class: Class::from_bits(bits & ((1 << CLASS_BITS) - 1)),
            sureness: Sureness::from_bits(bits >> CLASS_BITS),
        }
    }

    /// The class of a played note alone.
    pub fn class(&self, played: usize) -> Class {
        self.classified(played).class
    }
}

impl<'a> PairingMut<'a> {
    /// To look at from now on.
    pub(crate) const fn into_view(self) -> PairingView<'a> {
        Pairing { played_of: self.played_of, role_of: self.role_of }
    }

    /// Keeps the class of a played note.
    pub(crate) fn classify(&mut self, played: usize, classified: Classified) {
        if let Some(entry) = self.role_of.get_mut(played) {
            let bits = classified.class as u16 | (classified.sureness as u16) << CLASS_BITS;
            *entry = *entry & NOTE | bits << NOTE_BITS;
        }
    }

    /// To look at.
    pub(crate) const fn view(&self) -> PairingView<'_> {
        Pairing { played_of: self.played_of, role_of: self.role_of }
    }

    /// Forgets everything.
    pub(super) fn clear(&mut self) {
        self.played_of.fill(NONE);
        self.role_of.fill(NONE);
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

    /// Another played note takes an expected one's place.
    pub(super) fn replace(&mut self, expected: usize, played: usize) {
        self.part(expected);
        self.pair(expected, played);
    }

    pub(super) fn trill(&mut self, start: usize, played: usize) {
        if let Some(from) = self.role_of.get_mut(played) {
            *from = entry(start);
        }
        self.classify(played, Classified { class: Class::Trill, sureness: Sureness::Certain });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_notes_that_there_is_room_for_are_named() {
        let mut pairing: Pairing = Pairing::EMPTY;
        pairing.writable().pair(EXPECTED_NOTES - 1, PLAYED_NOTES - 1);
        assert_eq!(pairing.played(EXPECTED_NOTES - 1), Some(PLAYED_NOTES - 1));
        assert_eq!(pairing.role(PLAYED_NOTES - 1), Role::Note(EXPECTED_NOTES - 1));
    }
}
