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
        match note(entry & !TRILLED) {
            None => Role::Extra,
            Some(note) if entry & TRILLED != 0 => Role::Trill(note),
            Some(note) => Role::Note(note),
        }
    }
}

impl<'a> PairingMut<'a> {
    /// To look at from now on.
    pub(crate) const fn into_view(self) -> PairingView<'a> {
        Pairing { played_of: self.played_of, role_of: self.role_of }
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
            *from = entry(start) | TRILLED;
        }
    }
}
