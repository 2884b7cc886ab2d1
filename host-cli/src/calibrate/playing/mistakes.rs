//! Which notes look like the pickup's mistakes, without knowing what was to be played.
//!
//! What is told on arrival (begun again, heard through another string, set right at once) is the core's.
//! The others have the numbers of the core's classes ([`evenhand_core::align::Class`]).

use super::Note;
use evenhand_core::attempt::{Onset, PlayedNote};
use evenhand_core::pickup::{Pickup, TrackingError};

/// A ghost is this near to the note that makes it, in microseconds.
const NEAR: i64 = 50_000;

/// No finger sounds a note for less (12 notes a second are the fastest slurs; from memory).
const SHORTEST: i32 = 50_000;

/// A partial that was sent for a tone lasts less than this, in microseconds.
const PARTIAL: i32 = 100_000;

/// The right pitch follows a false one within this time, in microseconds.
const FOLLOWS: i64 = 120_000;

/// What a finger leaves that was lifted is shorter than this, in microseconds, and weaker than this
/// share, in per cent.
const TRAILING: i32 = 150_000;
const TRAILING_PERCENT: u8 = 50;

/// Notes that are looked at on each side: more than a chord and its noise.
const AROUND: usize = 32;

/// Marks them.
pub(super) fn tell(notes: &mut [Note]) {
    let all: Vec<Note> = notes.to_vec();
    for (index, note) in notes.iter_mut().enumerate() {
        note.mistake = mistake(&all, index);
    }
}

fn mistake(all: &[Note], index: usize) -> Option<TrackingError> {
    let note = &all[index];
    let own = &note.played;
    match own.onset {
        Onset::Bent => return None,
        Onset::Again => return Some(TrackingError::Double),
        Onset::Crosstalk => return Some(TrackingError::Ghost),
        // It is the note; what stood before it is the false one.
        Onset::Corrected => return None,
        Onset::Struck | Onset::Trailing => {}
    }
    let before = all[..index].iter().rev().take(AROUND).filter(|other| is_other_note(other));
    let after = all[index + 1..].iter().take(AROUND);
    let on_string = |other: &&Note| own.string.is_some() && other.played.string == own.string;
    let previous = before.clone().find(on_string);
    let next = after.clone().filter(|other| is_other_note(other)).find(on_string);
    if next.is_some_and(|next| {
        next.played.onset == Onset::Corrected && next.played.at == own.at && next.at == note.at
    }) {
        return Some(TrackingError::Blip);
    }
    let around = || {
        let near = |other: &&Note| (other.at - note.at).abs() <= NEAR;
        before
            .clone()
            .chain(after.clone())
            .filter(near)
            .filter(|other| other.played.string.is_none() || other.played.string != own.string)
    };
    let percent = Pickup::UNKNOWN.noise_percent;
    let is_faint = around().any(|other| own.is_weaker(&other.played, percent) == Some(true));
    let of_a_tone =
        around().any(|other| matches!(own.pitch.semitones_above(other.played.pitch), 12 | 19 | 24));
    if is_faint && (of_a_tone || is_under(own, SHORTEST)) {
        return Some(TrackingError::Ghost);
    }
    if own.onset == Onset::Trailing
        && is_under(own, TRAILING)
        && previous.is_some_and(|it| own.is_weaker(&it.played, TRAILING_PERCENT) == Some(true))
    {
        return Some(TrackingError::Trailing);
    }
    let soon = next.filter(|next| next.at - note.at < FOLLOWS);
    let just = previous.filter(|previous| note.at - previous.at < FOLLOWS);
    let is_partial = |other: &Note| {
        let apart = own.pitch.semitones_above(other.played.pitch).unsigned_abs();
        matches!(apart, 12 | 19 | 24) && !is_under(&other.played, PARTIAL)
    };
    if is_under(own, PARTIAL) && soon.into_iter().chain(just).any(is_partial) {
        return Some(TrackingError::Octave);
    }
    let other_pitch = soon.is_some_and(|next| next.played.pitch != own.pitch);
    (is_under(own, SHORTEST) && other_pitch).then_some(TrackingError::Blip)
}

/// Whether it is a note of its own.
fn is_other_note(note: &Note) -> bool {
    !matches!(note.played.onset, Onset::Again | Onset::Bent | Onset::Crosstalk)
}

fn is_under(note: &PlayedNote, micros: i32) -> bool {
    note.lasted.is_some_and(|lasted| lasted.as_micros() < micros)
}
