//! The notes around a note.

use crate::align::Material;
use crate::attempt::{Onset, PlayedNote, SAME_STROKE};

/// Microseconds.
pub(super) const MILLI: i32 = 1_000;

/// Notes that are looked at on each side: more than fit a chord, its noise and a vibrato on
/// several strings.
const MOST: usize = 128;

/// Whether two notes were on one string, where strings are known.
pub(super) fn same_place(a: &PlayedNote, b: &PlayedNote) -> Option<bool> {
    Some(a.string? == b.string?)
}

/// How long after `before` a note began, in microseconds.
pub(super) fn apart(before: &PlayedNote, note: &PlayedNote) -> i32 {
    note.at.as_micros().saturating_sub(before.at.as_micros())
}

/// The notes that arrived before `by` (after it, if `reach` is positive), at most `reach`
/// microseconds away, the nearest first. Noise arrives with what makes it, whatever its pitch,
/// so it is arrival that counts, and not the time that latency is taken off.
pub(super) fn near<'a>(
    material: Material<'a>,
    by: usize,
    reach: i32,
) -> impl Iterator<Item = (usize, &'a PlayedNote)> + use<'a> {
    let arrived = move |note: &PlayedNote| {
        note.at.as_micros().saturating_add(material.pickup.latency.of(note.pitch).as_micros())
    };
    let at = material.played.get(by).map_or(0, arrived);
    all(material, by, reach < 0).filter(move |(other_by, other)| {
        let apart = at.saturating_sub(arrived(other));
        // A pitch that was set right has the time of its stroke, and arrived a little later.
        let corrected = on_string_before(material, *other_by)
            .is_some_and(|(_, before)| before.at == other.at && before.string == other.string);
        let slack = if corrected { SAME_STROKE.as_micros() } else { 0 };
        let apart = if apart > 0 { (apart - slack).max(0) } else { apart };
        apart.saturating_abs() <= reach.saturating_abs()
    })
}

/// The note before on the same string, or on a string unknown; a note begun again is no other.
pub(super) fn on_string_before<'a>(
    material: Material<'a>,
    by: usize,
) -> Option<(usize, &'a PlayedNote)> {
    let note = material.played.get(by)?;
    all(material, by, true)
        .find(|(_, other)| other.onset != Onset::Again && same_place(other, note) != Some(false))
}

/// The note after on the same string, or on a string unknown.
pub(super) fn on_string_after<'a>(
    material: Material<'a>,
    by: usize,
) -> Option<(usize, &'a PlayedNote)> {
    let note = material.played.get(by)?;
    all(material, by, false)
        .find(|(_, other)| other.onset != Onset::Again && same_place(other, note) != Some(false))
}

fn all<'a>(
    material: Material<'a>,
    by: usize,
    back: bool,
) -> impl Iterator<Item = (usize, &'a PlayedNote)> + use<'a> {
    (1..=MOST).map_while(move |step| {
        let other = if back { by.checked_sub(step)? } else { by + step };
        Some((other, material.played.get(other)?))
    })
}
