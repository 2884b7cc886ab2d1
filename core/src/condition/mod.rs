//! Extra notes that the pickup made, told from those the player made.
//!
//! This looks only at notes that no expected note accounts for, so a note that the chunk
//! expects is never taken for an error of the pickup, and nothing is ever dropped: a played
//! note gets a cause, and the verdict decides what it counts for.
//!
//! The times and shares are our defaults: no published values. That lifting a finger leaves
//! a false trailing pitch, that noise of the attack reads as high notes, and that a converter
//! takes a tone for its octave or twelfth is common practice among players and makers of
//! converters.

mod bends;
mod neighbours;
mod struck;

use crate::align::{Material, Role};
use crate::attempt::{Onset, PlayedNote};
use crate::study::ExpectedNote;
use neighbours::{MILLI, near, on_string_before};

/// Why a note that was not expected is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Cause {
    /// The same pitch on the same string again within 40 ms, or within 60 ms and weaker than
    /// 60 % of the first.
    DoubleTrigger,
    /// Another pitch on the same string within 25 ms of a note that was expected: the converter
    /// changed its mind.
    Correction,
    /// An octave off or a twelfth above a note that was expected, on its string and within
    /// 60 ms of it.
    Mistracked,
    /// A weak note (under the pickup's share for noise of the loudest around it, 35 % unless its
    /// profile says otherwise) within 50 ms of another string's, and 12, 19 or 24 semitones
    /// above a sounding note, or shorter than 50 ms. Where velocities say nothing, one of the
    /// latter is enough.
    Ghost,
    /// A weak and short note, lower or at most two semitones higher, on a string whose note has
    /// just ended: a finger was lifted.
    Trailing,
    /// A bend that returns within 80 ms, or goes on to and fro.
    Vibrato,
    /// A bend among others in the same direction.
    Slide,
    /// Any other bend.
    Bend,
    /// The player struck the note before once more.
    Repeated,
    /// A note of the player's that belongs nowhere.
    Stray,
}

/// Whose doing a note that was not expected is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// The player's: a slip.
    Slip,
    /// The pickup's: an error of tracking.
    Pickup,
    /// The player's, and none of the judge's business: vibrato and the like.
    Colour,
}

impl Cause {
    /// Whose doing it is.
    pub const fn doing(self) -> Doing {
        match self {
            Self::DoubleTrigger
            | Self::Correction
            | Self::Mistracked
            | Self::Ghost
            | Self::Trailing => Doing::Pickup,
            Self::Vibrato | Self::Slide | Self::Bend => Doing::Colour,
            Self::Repeated | Self::Stray => Doing::Slip,
        }
    }
}

/// Whether a played note that stands in place of an expected one may be that note, mistaken by
/// the converter for its octave or twelfth: on its own string, exactly 12 semitones off or 19
/// above. A hand would have to jump as many frets.
pub fn is_mistracked(wanted: &ExpectedNote, note: &PlayedNote) -> bool {
    let same_string = wanted.string.is_some() && wanted.string == note.string;
    same_string
        && note.is_struck()
        && is_octave_or_twelfth(note.pitch.semitones_above(wanted.pitch))
}

const fn is_octave_or_twelfth(semitones: i8) -> bool {
    matches!(semitones, -12 | 12 | 19)
}

/// Why the extra note `by` is there. Notes that are not extra are `Stray`, too; nobody asks.
pub fn cause(material: Material<'_>, by: usize) -> Cause {
    let Some(note) = material.played.get(by) else {
        return Cause::Stray;
    };
    if note.is_bent() {
        return bends::cause(material, by, note);
    }
    let again = || near(material, by, -60 * MILLI).any(|(_, before)| note.is_begun_again(before));
    if note.onset == Onset::Again || again() {
        return Cause::DoubleTrigger;
    }
    if struck::is_corrected(material, by, note) {
        return Cause::Correction;
    }
    if struck::is_mistracked(material, by, note) {
        return Cause::Mistracked;
    }
    if struck::is_ghost(material, by, note) {
        return Cause::Ghost;
    }
    if struck::is_trailing(material, by, note) {
        return Cause::Trailing;
    }
    match on_string_before(material, by) {
        Some((_, before)) if before.pitch == note.pitch => Cause::Repeated,
        _ => Cause::Stray,
    }
}

/// Whether a note stands in an expected note's place, or in a trill.
fn is_expected(material: Material<'_>, by: usize) -> bool {
    matches!(material.pairing.role(by), Role::Note(_) | Role::Trill(_))
}

#[cfg(test)]
mod tests;
