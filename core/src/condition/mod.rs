//! Extra notes that the pickup made, told from those the player made.
//!
//! This looks only at notes that no expected note accounts for, so a note that the chunk
//! expects is never taken for an error of the pickup, and nothing is ever dropped: a played
//! note gets a cause, and the verdict decides what it counts for.
//!
//! The times and shares are our defaults: no published values. That lifting a finger leaves
//! a false trailing pitch and that noise of the attack reads as high notes is common
//! practice among players and makers of converters.

use crate::align::{Material, Role};
use crate::attempt::PlayedNote;

/// Why a note that was not expected is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Cause {
    /// The same pitch on the same string again within 40 ms, or within 60 ms and weaker than
    /// 60 % of the first.
    DoubleTrigger,
    /// Another pitch on the same string within 25 ms before a note that was expected: the
    /// converter changed its mind.
    Correction,
    /// A weak note (under 35 % of the loudest around it) within 50 ms of another string's, and
    /// 12, 19 or 24 semitones above a sounding note, or shorter than 50 ms.
    Ghost,
    /// The player struck the note before once more.
    Repeated,
    /// A note of the player's that belongs nowhere.
    Stray,
}

const MILLI: i32 = 1_000;

/// Why the extra note `by` is there. Notes that are not extra are `Stray`, too; nobody asks.
pub fn cause(material: Material<'_>, by: usize) -> Cause {
    let Some(note) = material.played.get(by) else {
        return Cause::Stray;
    };
    if near(material, by, -60 * MILLI).any(|(_, before)| is_double(before, note)) {
        return Cause::DoubleTrigger;
    }
    let corrected = near(material, by, 25 * MILLI).any(|(other, after)| {
        same_place(after, note) == Some(true)
            && after.pitch != note.pitch
            && matches!(material.pairing.role(other), Role::Note(_))
    });
    if corrected {
        return Cause::Correction;
    }
    if is_ghost(material, by, note) {
        return Cause::Ghost;
    }
    let before = (0..by).rev().find_map(|other| {
        let other_note = material.played.get(other)?;
        (same_place(other_note, note) != Some(false)).then_some(other_note)
    });
    if before.is_some_and(|before| before.pitch == note.pitch) {
        return Cause::Repeated;
    }
    Cause::Stray
}

/// Whether two notes were on one string, where strings are known.
fn same_place(a: &PlayedNote, b: &PlayedNote) -> Option<bool> {
    Some(a.string? == b.string?)
}

/// Whether a note looks like a double trigger of the one before it.
pub(crate) fn is_double(before: &PlayedNote, note: &PlayedNote) -> bool {
    if before.pitch != note.pitch || same_place(before, note) == Some(false) {
        return false;
    }
    let apart = note.at.as_micros().saturating_sub(before.at.as_micros());
    let weak = u16::from(note.velocity.value()) * 100 < u16::from(before.velocity.value()) * 60;
    apart <= 40 * MILLI || weak
}

fn is_ghost(material: Material<'_>, by: usize, note: &PlayedNote) -> bool {
    let around = || near(material, by, -50 * MILLI).chain(near(material, by, 50 * MILLI));
    let loudest = around()
        .filter(|(_, other)| same_place(other, note) != Some(true))
        .map(|(_, other)| other.velocity.value())
        .max();
    let Some(loudest) = loudest else { return false };
    if u16::from(note.velocity.value()) * 100 >= u16::from(loudest) * 35 {
        return false;
    }
    let short = note.lasted.is_some_and(|lasted| lasted.as_micros() < 50 * MILLI);
    short
        || around()
            .any(|(_, other)| matches!(note.pitch.semitones_above(other.pitch), 12 | 19 | 24))
}

/// The notes around `by` that are at most `reach` microseconds away: earlier ones if it is
/// negative, later ones otherwise. At most as many as fit a chord or two.
fn near<'a>(
    material: Material<'a>,
    by: usize,
    reach: i32,
) -> impl Iterator<Item = (usize, &'a PlayedNote)> + use<'a> {
    const MOST: usize = 16;
    let at = material.played.get(by).map_or(0, |note| note.at.as_micros());
    let back = reach < 0;
    (1..=MOST)
        .map_while(move |step| {
            let other = if back { by.checked_sub(step)? } else { by + step };
            Some((other, material.played.get(other)?))
        })
        .take_while(move |(_, other)| {
            other.at.as_micros().saturating_sub(at).saturating_abs() <= reach.saturating_abs()
        })
}
