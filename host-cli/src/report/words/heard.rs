//! What was heard at all, and what could not be.

use super::Said;
use super::amount::notes;
use crate::study::pitch_name;
use evenhand_core::align::{Class, Material, Origin, Sureness};

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

pub(super) fn poor_hearing(said: &Said<'_>) -> String {
    format!(
        "The pickup errs too often to judge by it: {} in {} notes. Turn its sensitivity or gain down, \
         see that it sits close to the strings, damp those that are not played; `evenhand doctor` \
         tells what each string does.",
        notes(said.finding.size.magnitude(), "error"),
        said.finished.chunk.notes.len()
    )
}

/// Expected notes that the pickup may have lost, or sent as others.
pub(super) fn not_heard(said: &Said<'_>) -> String {
    let place = &said.place;
    let came = said.finished.pairing.played(said.at).and_then(|by| said.finished.played.get(by));
    let first = match came {
        Some(note) => format!("the pickup sent {} for it", pitch_name(note.pitch)),
        None if follows_its_like(said) => {
            "it repeats the note before, and the pickup may have taken the two for one".to_owned()
        }
        None => "the pickup loses notes now and then".to_owned(),
    };
    let note = &said.note;
    match said.count() {
        1 => format!(
            "One note was not heard, {note} at {place}: {first}. Play it once more; a note that was \
             left out is missing there again."
        ),
        count => format!(
            "{count} notes were not heard, the first {note} at {place}: {first}. Play it once more; what \
             was left out is missing there again."
        ),
    }
}

/// Whether an expected note has the pitch of the one before on its string.
fn follows_its_like(said: &Said<'_>) -> bool {
    let notes = &said.finished.chunk.notes;
    let Some(wanted) = notes.get(said.at) else { return false };
    let mut before = notes[..said.at].iter().rev();
    before.find(|note| note.string == wanted.string).is_some_and(|note| note.pitch == wanted.pitch)
}

/// Notes that may be the pickup's.
pub(super) fn in_doubt(said: &Said<'_>) -> String {
    let first = said.finished.material(|material| {
        let (by, class) = first_in_doubt(material)?;
        let note = material.played.get(by)?;
        let string = note.string.map(|string| format!(" on string {}", string.number()));
        let pitch = pitch_name(note.pitch);
        Some(format!("{pitch}{}, {}", string.unwrap_or_default(), habit(class)))
    });
    let first = first.unwrap_or_default();
    let place = match said.finding.note {
        Some(_) => format!("after {}", said.place),
        None => "before the first note".to_owned(),
    };
    match said.count() {
        1 => format!(
            "One note may be the pickup's or yours, {place}: {first}. Play it once more; a slip of \
             the hand comes again."
        ),
        count => format!(
            "{count} notes may be the pickup's or yours, the first {place}: {first}. Play it once more; a \
             slip of the hand comes again."
        ),
    }
}

fn first_in_doubt(material: Material<'_>) -> Option<(usize, Class)> {
    let mut extras = material.extras();
    extras.find(|(by, class)| {
        class.origin() == Origin::Pickup
            && material.pairing.classified(*by).sureness == Sureness::Doubtful
    })
}

/// What a pickup does that leaves such a note.
const fn habit(class: Class) -> &'static str {
    match class {
        Class::DoubleTrigger => "the note before once more",
        Class::Trailing => "such as a lifted finger leaves",
        Class::OctaveError => "the octave of a note that sounds",
        Class::Stale => "the pitch that the string had before",
        Class::Blip | Class::Correction => "too short for a finger",
        _ => "such as a neighbouring string leaves",
    }
}
