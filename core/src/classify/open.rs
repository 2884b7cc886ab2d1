//! The notes of an attempt of which it is open whether the player or the pickup made them so.

use super::left_out::{goes_on, is_left_out};
use super::rates::Rates;
use super::weight::{HAND_MISSES, decibans};
use super::{around, error};
use crate::align::{Classified, Material, Origin, Role, Sureness};
use crate::pickup::TrackingError;
use crate::units::{GuitarString, Pitch};

/// A note of which it is open whose doing it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct OpenNote {
    /// Where: the expected note, or the last one before a note beside them.
    pub(crate) place: Option<usize>,
    /// The pitch that came; none where nothing did.
    pub(crate) pitch: Option<Pitch>,
    /// It is no expected note, but one beside them.
    pub(crate) is_beside: bool,
    /// The string it was heard on, or was to be heard on.
    pub(crate) string: Option<GuitarString>,
    /// What the converter would have done.
    pub(crate) error: TrackingError,
    /// How much speaks for the hand, in decibans.
    pub(crate) weight: i32,
}

/// The expected notes that were not heard, and then the notes in doubt beside them.
pub(crate) fn open_notes<'m>(
    material: Material<'m>,
    rates: &'m Rates,
) -> impl Iterator<Item = OpenNote> + use<'m> {
    let expected = 0..material.chunk.notes().len();
    let played = 0..material.played.len();
    let mut last = None;
    expected.filter_map(move |index| not_heard(material, rates, index)).chain(played.filter_map(
        move |by| {
            match material.pairing.role(by) {
                Role::Note(index) => last = Some(index),
                Role::Trill(_) => {}
                Role::Extra => return in_doubt(material, rates, by, last),
            }
            None
        },
    ))
}

fn not_heard(material: Material<'_>, rates: &Rates, index: usize) -> Option<OpenNote> {
    let wanted = material.chunk.notes().get(index)?;
    let Some(by) = material.pairing.played(index) else {
        if is_left_out(material, rates, index) {
            return None;
        }
        let goes_on = goes_on(material, index);
        let error = if goes_on { TrackingError::LostRepeat } else { TrackingError::Lost };
        let weight = decibans(HAND_MISSES, rates.of_error(error, wanted.string));
        let (place, string) = (Some(index), wanted.string);
        return Some(OpenNote { place, pitch: None, is_beside: false, string, error, weight });
    };
    let class = material.pairing.class(by);
    let played = material.played.get(by)?;
    let explained = around(material).explained_wrong(rates, by, wanted);
    (class.origin() == Origin::Pickup).then_some(OpenNote {
        place: Some(index),
        pitch: Some(played.pitch),
        is_beside: false,
        string: played.string.or(wanted.string),
        error: error(class)?,
        weight: explained.weight,
    })
}

fn in_doubt(
    material: Material<'_>,
    rates: &Rates,
    by: usize,
    place: Option<usize>,
) -> Option<OpenNote> {
    let Classified { class, sureness } = material.pairing.classified(by);
    if class.origin() != Origin::Pickup || sureness != Sureness::Doubtful {
        return None;
    }
    let played = material.played.get(by)?;
    let weight = around(material).explained_extra(rates, by).weight;
    let (pitch, string) = (Some(played.pitch), played.string);
    Some(OpenNote { place, pitch, is_beside: true, string, error: error(class)?, weight })
}
