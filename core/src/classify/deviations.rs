//! What came otherwise than it is written, and which of it is open: made so by the player or the pickup.

use super::left_out::{Nothing, is_of_no_landing, nothing_came};
use super::neighbours::{Around, MILLI, apart, same_place};
use super::rates::Rates;
use super::{around, error};
use crate::align::{Classified, Material, Origin, Role, Sureness};
use crate::pickup::TrackingError;
use crate::units::{GuitarString, Pitch};

/// A note that did not come as it is written, or was not written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Deviation {
    /// Where: the expected note, or the last one before a note beside them.
    pub(crate) place: Option<usize>,
    /// The pitch that came; none where nothing did.
    pub(crate) pitch: Option<Pitch>,
    /// It is no expected note, but one beside them.
    pub(crate) is_beside: bool,
    /// The string it was heard on, or was to be heard on.
    pub(crate) string: Option<GuitarString>,
    /// It is open whose doing it is; else it is a slip, or likely the pickup's.
    pub(crate) is_open: bool,
    /// It is likely the pickup's, and nothing is said of it unless it comes again and again.
    pub(crate) is_likely: bool,
    /// What the converter would have done.
    pub(crate) error: TrackingError,
    /// How much speaks for the hand, in decibans.
    pub(crate) weight: i32,
}

/// The expected notes that did not come, or with another pitch, and then slips and notes in doubt beside
/// them.
pub(crate) fn deviations<'m>(
    material: Material<'m>,
    rates: &'m Rates,
) -> impl Iterator<Item = Deviation> + use<'m> {
    let expected = 0..material.chunk.notes().len();
    let played = 0..material.played.len();
    let around = around(material);
    let mut last = None;
    expected.filter_map(move |index| in_place(around, rates, index)).chain(played.filter_map(
        move |by| {
            match material.pairing.role(by) {
                Role::Note(index) => last = Some(index),
                Role::Trill(_) => {}
                Role::Extra => return beside(around, rates, by, last),
            }
            None
        },
    ))
}

/// The mistake of the pickup's that a deviation looks like by its pitch alone.
pub(crate) fn looks_mistracked(material: Material<'_>, note: &Deviation) -> Option<TrackingError> {
    let place = note.place.filter(|_| !note.is_beside)?;
    around(material).looks_mistracked(material.pairing.played(place)?)
}

fn in_place(around: Around<'_>, rates: &Rates, index: usize) -> Option<Deviation> {
    let material = around.material;
    let wanted = material.chunk.notes().get(index)?;
    let Some(by) = material.pairing.played(index) else {
        if is_of_no_landing(material, wanted) {
            return None;
        }
        let Nothing { error, weight, is_open } = nothing_came(material, rates, index, wanted);
        return Some(Deviation {
            place: Some(index),
            pitch: None,
            is_beside: false,
            string: wanted.string,
            is_open,
            is_likely: false,
            error,
            weight,
        });
    };
    let class = material.pairing.class(by);
    if class.is_right() || class.origin() == Origin::Pickup && is_set_right(material, index, by) {
        return None;
    }
    let played = material.played.get(by)?;
    Some(Deviation {
        place: Some(index),
        pitch: Some(played.pitch),
        is_beside: false,
        string: played.string.or(wanted.string),
        is_open: class.origin() == Origin::Pickup,
        is_likely: false,
        error: error(class).unwrap_or(TrackingError::Blip),
        weight: around.explained_wrong(rates, by, index).weight,
    })
}

fn beside(around: Around<'_>, rates: &Rates, by: usize, place: Option<usize>) -> Option<Deviation> {
    let material = around.material;
    let Classified { class, sureness } = material.pairing.classified(by);
    let is_pickups = class.origin() == Origin::Pickup;
    let is_open = is_pickups && sureness == Sureness::Doubtful;
    let is_likely = is_pickups && sureness == Sureness::Likely;
    if !is_open && !is_likely && class.origin() != Origin::Slip {
        return None;
    }
    let played = material.played.get(by)?;
    Some(Deviation {
        place,
        pitch: Some(played.pitch),
        is_beside: true,
        string: played.string,
        is_open,
        is_likely,
        error: error(class).unwrap_or(TrackingError::Ghost),
        weight: around.explained_extra(rates, by).weight,
    })
}

/// A converter that mistook a note sends the right pitch within this time. Our default; it needs no more
/// than some periods.
const SET_RIGHT: i32 = 120 * MILLI;

/// Notes that are looked at after one: more than sound at once.
const NEXT: usize = 16;

/// Whether the pitch of the expected note `index` followed the mistaken one `by` on its string at once.
pub(crate) fn is_set_right(material: Material<'_>, index: usize, by: usize) -> bool {
    let notes = material.chunk.notes();
    let Some((wanted, mistaken)) = notes.get(index).zip(material.played.get(by)) else {
        return false;
    };
    let after = material.played.iter().enumerate().skip(by + 1).take(NEXT);
    let mut on_string = after.filter(|(_, note)| same_place(note, mistaken) != Some(false));
    on_string.any(|(other, note)| {
        note.pitch == wanted.pitch
            && apart(mistaken, note) <= SET_RIGHT
            && material.pairing.role(other) == Role::Extra
    })
}
