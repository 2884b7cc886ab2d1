//! Notes whose time is not known for certain because a stroke beside them was lost.
//!
//! Of several strokes of one pitch on one string, of which one was not heard, any may be that one: which of
//! them came late or after a pause hangs on that choice.

use super::findings::Findings;
use crate::align::Material;
use crate::classify::goes_on;
use crate::verdict::Kind;

/// What is told of the time of one note.
const TIMES: [Kind; 4] =
    [Kind::OffBeat, Kind::Hesitation, Kind::HesitationAtShift, Kind::OnsetOffClick];

/// Strokes that are looked at on either side.
const NEAR: usize = 3;

/// Unsettles what hangs on which of several strokes was not heard.
pub(super) fn unsettle(material: Material<'_>, findings: &mut Findings) {
    findings.unsettle(&TIMES, |note| is_beside_unheard(material, note));
}

/// Whether one of the strokes of its pitch on its string next to a note was not heard.
fn is_beside_unheard(material: Material<'_>, note: usize) -> bool {
    let notes = material.chunk.notes();
    let Some(told) = notes.get(note) else { return false };
    let on_string = |&index: &usize| notes.get(index).is_some_and(|n| n.string == told.string);
    let is_lost = |index: usize| {
        material.pairing.played(index).is_none()
            && notes.get(index).is_some_and(|n| n.pitch == told.pitch)
            && goes_on(material, index)
    };
    (0..note).rev().filter(on_string).take(NEAR).any(is_lost)
        || (note + 1..notes.len()).filter(on_string).take(NEAR).any(is_lost)
}
