//! One note of a bar.

use super::attributes::{Attributes, pitch};
use super::model::{Note, Remarks, Slur};
use super::notations::{self, Around};
use super::time::Quarters;
use super::xml::{Element, child, decimal, named, number_of, text_of};

/// The names of note values with their lengths in quarters (MusicXML 4.0, note-type-value).
const VALUES: [(&str, (i64, i64)); 14] = [
    ("1024th", (1, 256)),
    ("512th", (1, 128)),
    ("256th", (1, 64)),
    ("128th", (1, 32)),
    ("64th", (1, 16)),
    ("32nd", (1, 8)),
    ("16th", (1, 4)),
    ("eighth", (1, 2)),
    ("quarter", (1, 1)),
    ("half", (2, 1)),
    ("whole", (4, 1)),
    ("breve", (8, 1)),
    ("long", (16, 1)),
    ("maxima", (32, 1)),
];

/// The length of a note value in quarters.
pub(super) fn value(name: &str) -> Option<(i64, i64)> {
    VALUES.iter().find(|(known, _)| *known == name).map(|(_, length)| *length)
}

/// What an element of a note is.
pub(super) enum Kind {
    /// A note that sounds.
    Sounds(Box<Read>),
    /// Silence, or what is not judged.
    Passes,
    /// It takes no time and is left out.
    Nothing,
}

/// A note that was read; its time is its place's to say.
pub(super) struct Read {
    pub(super) note: Note,
    pub(super) around: Around,
}

/// A note with its length. `Err` says what cannot be counted.
pub(super) fn note(
    element: Element<'_>,
    attributes: &Attributes,
    bar: usize,
    remarks: &mut Remarks,
) -> Result<(Kind, Quarters), String> {
    if child(element, "grace").is_some() {
        remarks.add("grace notes (not judged)", bar);
        return Ok((Kind::Nothing, Quarters::ZERO));
    }
    let length = length(element, attributes)?;
    if child(element, "cue").is_some() {
        remarks.add("cue notes (not judged)", bar);
        return Ok((Kind::Passes, length));
    }
    if child(element, "rest").is_some() {
        notations::around(element, attributes.fifths, bar, remarks);
        return Ok((Kind::Passes, length));
    }
    let staff = number_of(element, "staff").unwrap_or(1);
    let around = notations::around(element, attributes.fifths, bar, remarks);
    let transposed = attributes.transposition(staff);
    let written = match child(element, "pitch") {
        Some(of) => pitch(of, "step", "alter", "octave").and_then(|pitch| {
            // Some programs write only the sign that is seen.
            let seen = child(of, "alter").is_none().then(|| text_of(element, "accidental"));
            moved(pitch, seen.flatten().and_then(super::sign::raises).unwrap_or(0))
        }),
        None => fretted(&around, attributes, staff)
            .map(|sounds| i16::from(sounds) - transposed)
            .and_then(|pitch| u8::try_from(pitch).ok()),
    };
    let sounding = written.and_then(|pitch| moved(pitch, transposed));
    let (Some(written), Some(sounding)) = (written, sounding) else {
        remarks.add("notes without a pitch (not judged)", bar);
        return Ok((Kind::Passes, length));
    };
    if matches!(text_of(element, "notehead"), Some("x" | "cross")) {
        remarks.add("crossed note heads (judged as notes)", bar);
    }
    let note = Note {
        bar,
        onset: Quarters::ZERO,
        length,
        written,
        sounding,
        staff,
        voice: text_of(element, "voice").unwrap_or("1").chars().take(20).collect(),
        tuplet: tuplet(element),
        string: around.string,
        fret: around.fret,
        left: around.left,
        right: around.right,
        slur: if around.hammered { Slur::Named } else { Slur::None },
        trill: around
            .trill
            .and_then(|pitch| u8::try_from(pitch).ok())
            .and_then(|pitch| moved(pitch, transposed)),
        barre: None,
        shift: None,
        rolled: around.rolled,
        accent: around.accent,
        short: around.short,
        hold: around.hold,
    };
    Ok((Kind::Sounds(Box::new(Read { note, around })), length))
}

fn moved(pitch: u8, semitones: i16) -> Option<u8> {
    u8::try_from(i16::from(pitch) + semitones).ok().filter(|pitch| *pitch < 128)
}

/// What a string sounds at a fret, where a file says nothing else of a note.
fn fretted(around: &Around, attributes: &Attributes, staff: u8) -> Option<u8> {
    let frets = attributes.frets.get(&staff).cloned().unwrap_or_default();
    super::doubled::fretted(&frets, around.string?, around.fret?)
}

/// The length by what programs count; where they count nothing, by what is printed.
fn length(element: Element<'_>, attributes: &Attributes) -> Result<Quarters, String> {
    if let Some(word) = text_of(element, "duration") {
        return duration(word, attributes);
    }
    let (over, under) = text_of(element, "type")
        .and_then(value)
        .ok_or_else(|| "neither a duration nor a note value".to_owned())?;
    let plain = Quarters::new(over, under);
    let dots = named(element, "dot").count().min(4);
    let dotted = plain.and_then(|length| length.times((2 << dots) - 1, 1 << dots));
    let (notes, time) = tuplet(element).unwrap_or((1, 1));
    dotted
        .and_then(|length| length.times(i64::from(time), i64::from(notes)))
        .ok_or_else(|| "a note value".to_owned())
}

/// A duration in parts of a quarter.
pub(super) fn duration(word: &str, attributes: &Attributes) -> Result<Quarters, String> {
    let (over, under) = attributes.divisions.parts();
    decimal(word)
        .filter(|length| *length >= Quarters::ZERO)
        .and_then(|length| length.times(under, over))
        .ok_or_else(|| {
            let told: String = word.chars().take(20).collect();
            format!("a duration of “{told}”")
        })
}

/// So many notes in the time of so many.
fn tuplet(element: Element<'_>) -> Option<(u8, u8)> {
    let modified = child(element, "time-modification")?;
    let notes: u8 = number_of(modified, "actual-notes").filter(|notes| *notes > 0)?;
    let time: u8 = number_of(modified, "normal-notes").filter(|time| *time > 0)?;
    Some((notes, time))
}

/// Whether it begins together with the note before it.
pub(super) fn is_in_chord(element: Element<'_>) -> bool {
    child(element, "chord").is_some()
}
