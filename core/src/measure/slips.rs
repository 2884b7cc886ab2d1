//! Wrong, missing and extra notes.
//!
//! *Wrong*: another pitch was played where a note was expected, and not one that a converter
//! may have taken for it. *Missing*: nothing was
//! played in its place. *Extra*: a note that no expected note, and no trill, accounts for,
//! and that is neither an error of the pickup nor vibrato and the like (see
//! [`classify`](crate::classify)).
//! What may as well be the pickup's doing as the player's is neither: an expected note of which nothing
//! came, or something that a converter may have sent for it, was *not heard*; a note beside them is *in
//! doubt*. Those of the landing are counted there, too.
//! A note of the landing is neither wrong nor missing here, and what was played in its place is not
//! extra, see [`landing`](super::landing).
//! Unit: notes. An empty attempt misses all.

use super::Material;
use super::landing::meant_for_it;
use crate::align::{Origin, Role, Sureness};
use crate::classify::{Rates, is_left_out, is_of_no_landing, is_set_right};
use crate::study::Marks;

/// How many notes were not right, and the first of each kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slips {
    /// Expected notes that were played with the right pitch.
    pub right: u16,
    /// Wrong notes, and the first expected note concerned.
    pub wrong: (u16, Option<usize>),
    /// Missing notes, and the first of them.
    pub missing: (u16, Option<usize>),
    /// Extra notes, and the expected note that was played last before the first of them.
    pub extra: (u16, Option<usize>),
    /// Expected notes that were not heard, and the first of them: whether they were played is open.
    pub unheard: (u16, Option<usize>),
    /// Notes beside the expected ones that are in doubt, and the expected note that was played last
    /// before the first of them.
    pub doubtful: (u16, Option<usize>),
    /// Notes that are errors of the pickup: extra ones, and those that it sent for expected ones.
    pub pickup: u16,
    /// How many of these are expected notes.
    pub mistracked: u16,
    /// Missing notes after the last note that was played: the attempt broke off.
    pub missing_at_the_end: u16,
    /// Missing notes before the first note that was played: the attempt began on the way.
    pub missing_at_the_beginning: u16,
}

impl Slips {
    /// The slips without the notes before the first one that was played; `first` is that one.
    #[must_use]
    pub fn from_midway(self, material: Material<'_>, first: usize) -> Self {
        let later = |index: &usize| material.pairing.played(*index).is_none();
        let notes = material.chunk.notes().iter().enumerate().skip(first);
        let mut missing = notes.filter(|(_, note)| !note.marks.has(Marks::LANDING));
        let place = missing.find(|(index, _)| later(index)).map(|(index, _)| index);
        let count = self.missing.0.saturating_sub(self.missing_at_the_beginning);
        Self { missing: (count, place), missing_at_the_beginning: 0, ..self }
    }
}

/// Counts the slips.
pub fn slips(material: Material<'_>) -> Slips {
    let mut slips = Slips::default();
    let rates = Rates::of(material);
    for (index, note) in material.chunk.notes().iter().enumerate() {
        // The landing is a measure of its own.
        let is_landing = note.marks.has(Marks::LANDING);
        let class = material.class(index);
        match class {
            Some(class) if class.is_right() => slips.right += 1,
            Some(class) if class.origin() == Origin::Pickup => {
                slips.mistracked += 1;
                slips.pickup += 1;
                if !material
                    .pairing
                    .played(index)
                    .is_some_and(|by| is_set_right(material, index, by))
                {
                    count(&mut slips.unheard, Some(index));
                }
            }
            Some(_) if !is_landing => count(&mut slips.wrong, Some(index)),
            None if is_of_no_landing(material, note) => {}
            // What a hand left out of a landing is that measure's.
            None if is_landing && is_left_out(material, &rates, index) => {}
            None if is_landing => count(&mut slips.unheard, Some(index)),
            None if is_left_out(material, &rates, index) => {
                count(&mut slips.missing, Some(index));
                slips.missing_at_the_end += 1;
            }
            None => {
                count(&mut slips.unheard, Some(index));
                slips.missing_at_the_end += 1;
            }
            _ => {}
        }
        if class.is_some() {
            slips.missing_at_the_end = 0;
        }
    }
    let begun_at = begun_at(material);
    slips.missing_at_the_beginning = begun_at as u16;
    let landing = material.chunk.notes().iter().position(|note| note.marks.has(Marks::LANDING));
    let unpaired = landing.filter(|&landing| {
        (landing..material.chunk.notes().len())
            .all(|index| material.pairing.played(index).is_none())
    });
    let in_its_place = unpaired.and_then(|landing| meant_for_it(material, landing).last());
    let mut last = None;
    for by in 0..material.played.len() {
        match material.pairing.role(by) {
            Role::Note(index) => last = Some(index),
            Role::Trill(_) => {}
            Role::Extra if in_its_place.is_some_and(|first| by >= first) => {}
            Role::Extra => match material.pairing.class(by).origin() {
                Origin::Slip => count(&mut slips.extra, last),
                Origin::Pickup
                    if material.pairing.classified(by).sureness == Sureness::Doubtful =>
                {
                    count(&mut slips.doubtful, last);
                }
                Origin::Pickup => slips.pickup += 1,
                Origin::Asked | Origin::Ornament => {}
            },
        }
    }
    slips
}

/// How many notes of the chunk come before the first one in whose place something was played.
pub(crate) fn begun_at(material: Material<'_>) -> usize {
    let mut notes = 0..material.chunk.notes().len();
    notes.find(|&index| material.pairing.played(index).is_some()).unwrap_or(0)
}

fn count(kind: &mut (u16, Option<usize>), place: Option<usize>) {
    if kind.0 == 0 {
        kind.1 = place;
    }
    kind.0 += 1;
}
