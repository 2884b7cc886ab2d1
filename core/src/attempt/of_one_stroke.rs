//! What belongs to one stroke of a string: what trails it, corrects it, or stands in it for a moment.

use super::{PlayedNote, SAME_STROKE, TOGETHER};
use crate::units::{Offset, Pitch, Velocity};

/// A note trails another if it comes within this time of its end. Our default.
pub const AFTER_THE_END: Offset = Offset::from_millis(60);

/// ... and is weaker than this share of it, in per cent. Our default.
pub const TRAILING_PERCENT: u8 = 60;

/// ... and no more than so many semitones above it. Our default.
pub const TRAILING_ABOVE: i8 = 2;

/// What is heard of one string through another begins within this time of it. Our default: a converter
/// tells both after as many periods of the same pitch; a rig with a free pitch tracker showed 12 ms at
/// most in 95 of 100.
pub(super) const AT_ONE_MOMENT: i32 = 30_000;

/// Whether a note is what the end of `before` leaves; that one was struck as hard as `bent_from` if it is a bend.
pub(super) fn trails(before: &PlayedNote, bent_from: Option<Velocity>, note: &PlayedNote) -> bool {
    let before = &PlayedNote { velocity: before.velocity.or(bent_from), ..*before };
    let Some(lasted) = before.lasted.filter(|_| note.is_struck()) else { return false };
    let end = before.at.as_micros().saturating_add(lasted.as_micros());
    note.at.as_micros().saturating_sub(end) <= AFTER_THE_END.as_micros()
        && note.pitch.semitones_above(before.pitch) <= TRAILING_ABOVE
        && note.is_weaker(before, TRAILING_PERCENT) == Some(true)
}

/// Whether two pitches of one string belong to one stroke.
pub(super) fn is_same_stroke(before: &PlayedNote, note: &PlayedNote) -> bool {
    let apart = note.at.as_micros().saturating_sub(before.at.as_micros());
    before.pitch != note.pitch && apart <= SAME_STROKE.as_micros()
}

/// Whether a pitch that a string sounded for so many microseconds, between two notes of another, is none
/// that a hand played: no finger sounds a note for less than 50 ms (12 slurs a second are the fastest; from
/// memory), nor jumps to an octave or a twelfth on a string and back in 250 ms. Our defaults.
pub fn is_interruption(sounding: Pitch, moment: Pitch, lasted: i32) -> bool {
    let shortest = match moment.semitones_above(sounding).unsigned_abs() {
        0 => return false,
        12 | 19 | 24 => 250_000,
        _ => 50_000,
    };
    (TOGETHER..shortest).contains(&lasted)
}
