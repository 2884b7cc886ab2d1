//! Notes whose time is not known for certain because a stroke beside them was lost.
//!
//! Of several strokes of one pitch on one string, of which one was not heard, any may be that one: which of
//! them came late or after a pause hangs on that choice.

use super::findings::Findings;
use crate::align::Material;
use crate::classify::{Rates, ends_a_lag, goes_on};
use crate::study::Attack;
use crate::verdict::Kind;

/// What is told of the time of one note.
const TIMES: [Kind; 4] =
    [Kind::OffBeat, Kind::Hesitation, Kind::HesitationAtShift, Kind::OnsetOffClick];

/// Strokes that are looked at on either side.
const NEAR: usize = 3;

/// Unsettles what hangs on which of several strokes was not heard.
pub(super) fn unsettle(material: Material<'_>, findings: &mut Findings) {
    let lags = |note: usize| {
        (note.saturating_sub(1)..=note + NEAR).any(|index| ends_a_lag(material, index))
    };
    findings.unsettle(&TIMES, |note| is_beside_unheard(material, note) || lags(note));
}

/// What a string still sounded is no stroke, however well it fits: where the pickup began the last note of a
/// string once more, much weaker, in the place of one that it lost, neither the loudness nor the time is the
/// hand's for certain. Our default: weaker than this share of the note before it, in per cent (16 dB).
const REMAINDER: u8 = 40;

/// Unsettles what hangs on a right note that may be what its string still sounded.
///
/// A pickup that has shown no mistake yet is believed.
pub(super) fn unsettle_remainders(material: Material<'_>, findings: &mut Findings) {
    if !Rates::of(material).has_erred(None) {
        return;
    }
    findings.unsettle(&[Kind::SoftNotes], |note| may_be_a_remainder(material, note));
    findings.unsettle(&TIMES, |note| {
        let before = note.checked_sub(1);
        [Some(note), before].into_iter().flatten().any(|note| may_be_a_remainder(material, note))
    });
}

/// Whether a right note has the pitch that its string sounded last, was to be plucked, and is much weaker.
fn may_be_a_remainder(material: Material<'_>, note: usize) -> bool {
    let notes = material.chunk.notes();
    let Some((wanted, played)) = notes.get(note).zip(material.right(note)) else { return false };
    let on_string = |index: &usize| {
        notes.get(*index).is_some_and(|n| n.string.is_some() && n.string == wanted.string)
    };
    let before = (0..note).rev().find(on_string).and_then(|index| material.right(index));
    wanted.attack == Attack::Plucked
        && before.is_some_and(|before| {
            before.pitch == played.pitch && played.is_weaker(before, REMAINDER) == Some(true)
        })
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
