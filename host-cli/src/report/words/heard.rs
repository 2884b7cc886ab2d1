//! What was heard at all, and what could not be.

use super::Said;
use super::amount::notes;

pub(super) fn nothing() -> String {
    "No note came. Check the cable, and that the pickup sends on the channels that are listened to."
        .to_owned()
}

/// What is said where nothing was an attempt, by the number of notes that came.
pub(in crate::report) fn no_attempt(count: u32) -> String {
    if count == 0 {
        return "No notes in it: nothing was judged. Check the cable, and what the pickup sends."
            .to_owned();
    }
    format!(
        "No attempt in it: {} came, and too few of them in a row are a chunk's. Something else \
         was played, or broken off early, or the tuning, the capo or the channels differ.",
        notes(count, "note")
    )
}

pub(super) fn not_this_chunk(said: &Said<'_>) -> String {
    format!(
        "Only {} of {} notes are this chunk's: this was something else, or the tuning or the capo \
         differs.",
        said.finding.size.magnitude(),
        said.finding.limit.magnitude()
    )
}

pub(super) fn broken_off(said: &Said<'_>) -> String {
    format!(
        "It stops before {}; {} did not come. Play it to its end to have it judged.",
        said.place,
        notes(said.finding.size.magnitude(), "note")
    )
}

pub(super) fn begun_midway(said: &Said<'_>) -> String {
    let size = said.finding.size.magnitude();
    let were = if size == 1 { "was" } else { "were" };
    format!(
        "It begins at {}; the {} before it {were} not heard. Play it from its start to have it judged.",
        said.place,
        notes(size, "note")
    )
}

pub(super) fn too_many(said: &Said<'_>) -> String {
    format!(
        "{} more came than an attempt can hold. Play a shorter chunk.",
        notes(said.finding.size.magnitude(), "note")
    )
}

pub(super) fn no_time() -> String {
    "The notes came faster than anyone plays, so the stream carries no time: only the notes were \
     judged. A live stream must arrive as it is played."
        .to_owned()
}

pub(super) fn too_few_for_timing() -> String {
    "Too few notes to say anything about the rhythm.".to_owned()
}

pub(super) fn one_velocity() -> String {
    "Every note came with the same velocity, so evenness was not heard. Switch the converter to \
     send how hard each note is struck."
        .to_owned()
}

pub(super) fn bent_slurs(said: &Said<'_>) -> String {
    format!(
        "The slurs, from {} on, came as pitch bends without a loudness of their own, so how even \
         they are was not heard. Switch the converter from bends to new notes for slurs.",
        said.place
    )
}

pub(super) fn pickup_errors(said: &Said<'_>) -> String {
    let count = said.count();
    let looks = if count == 1 { "looks like an error" } else { "look like errors" };
    let counts = if count == 1 { "does" } else { "do" };
    format!("{} {looks} of the pickup and {counts} not count.", notes(u32::from(count), "note"))
}
