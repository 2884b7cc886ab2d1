//! Places and notes as a musician says them.

use super::Prepared;
use evenhand_core::study::Marks;
use evenhand_core::units::{Pitch, Ticks};

const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];

/// A pitch by its name: `C#4`. Octave 4 holds A4 = 440 Hz.
pub(crate) fn pitch_name(pitch: Pitch) -> String {
    let number = usize::from(pitch.number());
    format!("{}{}", NAMES[number % 12], (number / 12) as i32 - 1)
}

/// A note of a chunk: `string 4, fret 2`, `open string 4`, or `C#4` where no string is known.
pub fn note_name(chunk: &Prepared, note: usize) -> String {
    let Some(wanted) = chunk.notes.get(note) else {
        return String::new();
    };
    let fret = chunk.hand.get(note).and_then(|hand| hand.fret);
    match (wanted.string, fret) {
        (Some(string), Some(0)) => format!("open string {}", string.number()),
        (Some(string), Some(fret)) => format!("string {}, fret {fret}", string.number()),
        (Some(string), None) => {
            format!("{} on string {}", pitch_name(wanted.pitch), string.number())
        }
        (None, _) => pitch_name(wanted.pitch),
    }
}

/// Where a note of a chunk stands: `bar 5, beat 2`, `bar 5, the “and” of 2`.
pub fn place_name(chunk: &Prepared, note: usize) -> String {
    let Some(wanted) = chunk.notes.get(note) else {
        return String::new();
    };
    let place = chunk.chunk().place(wanted.onset);
    let beat = chunk.metre.beat().get();
    let into = place.into_beat.get();
    if into == 0 {
        return format!("bar {}, beat {}", place.bar, place.beat);
    }
    if into * 2 == beat {
        return format!("bar {}, the “and” of {}", place.bar, place.beat);
    }
    let (mut a, mut b) = (into, beat);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let (part, parts) = (into / a, beat / a);
    let kind = match (parts, beat == Ticks::PER_QUARTER) {
        (4, true) => "sixteenth",
        (3, true) => "triplet eighth",
        (3, false) if chunk.metre.bar().get().is_multiple_of(beat) && is_dotted(beat) => "eighth",
        _ => return format!("bar {}, beat {} and {part}/{parts}", place.bar, place.beat),
    };
    let nth = ["first", "second", "third", "fourth"].get(part as usize).unwrap_or(&"last");
    format!("bar {}, the {nth} {kind} of beat {}", place.bar, place.beat)
}

const fn is_dotted(beat: u32) -> bool {
    beat * 2 == Ticks::PER_QUARTER * 3
}

/// The stretch from one note of a chunk to another: `bars 3 to 4`, `bar 2`, `bar 2, beat 3 to bar
/// 3, beat 1`. Whole bars are named as such, and a bar that is named stands for both ends.
pub(crate) fn stretch_name(chunk: &Prepared, first: usize, last: usize) -> String {
    let (Some(from), Some(to)) = (chunk.notes.get(first), chunk.notes.get(last)) else {
        return String::new();
    };
    let bar = |onset: Ticks| chunk.chunk().place(onset).bar;
    // A bar that the chunk holds in part only is never whole.
    let (size, into) = (chunk.metre.bar().get(), chunk.into_first_bar.get());
    let begins = (into + from.onset.get()) / size * size;
    let ends = ((into + to.onset.get()) / size + 1) * size;
    let others = |range: std::ops::Range<u32>| {
        let at = |onset: Ticks| range.contains(&(into + onset.get()));
        chunk.notes.iter().any(|note| !note.marks.has(Marks::LANDING) && at(note.onset))
    };
    let is_whole = begins >= into
        && ends <= into + chunk.length.get()
        && !others(begins..into + from.onset.get())
        && !others(into + to.onset.get() + 1..ends);
    match (is_whole, bar(from.onset), bar(to.onset)) {
        (true, from, to) if from == to => format!("bar {from}"),
        (true, from, to) => format!("bars {from} to {to}"),
        (false, from, to) => {
            let (own, end) = (place_name(chunk, first), place_name(chunk, last));
            let within = end.strip_prefix(&format!("bar {to}, ")).filter(|_| from == to);
            format!("{own} to {}", within.unwrap_or(&end))
        }
    }
}
