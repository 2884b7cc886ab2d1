//! Notes that look lost: a gap of twice the time in an even row of one note, and a chord that came
//! several times and once without one of its notes.

use super::super::median;
use super::{Note, PLACES, place};
use evenhand_core::units::Pitch;

/// Notes that a row has at least: five are asked for, and one may be lost. Our default.
const ROW: usize = 4;

/// Strokes of a row are slower than this, in microseconds: faster ones are a tremolo. Our default.
const SLOWEST: i64 = 300_000;

/// Times between strokes may be off the middle by this share, in per cent, and a gap off twice the middle.
/// Our default.
const UNEVEN: i64 = 20;

/// Times that a chord came whole, before one without a note is one that lost it. Our default.
const WHOLE: usize = 3;

/// The strings that lost a note, by their places, and of how many rows and chords that could be told.
pub(super) fn lost(notes: &[Note], chords: &[Vec<usize>]) -> (Vec<usize>, usize) {
    let (mut lost, mut rows) = in_rows(notes);
    let (of_chords, kinds) = in_chords(notes, chords);
    lost.extend(of_chords);
    rows += kinds;
    (lost, rows)
}

fn in_rows(notes: &[Note]) -> (Vec<usize>, usize) {
    let struck: Vec<&Note> =
        notes.iter().filter(|note| note.mistake.is_none() && !note.played.is_bent()).collect();
    let (mut lost, mut rows) = (Vec::new(), 0);
    for row in struck
        .chunk_by(|a, b| a.played.pitch == b.played.pitch && a.played.string == b.played.string)
    {
        if row.len() < ROW {
            continue;
        }
        let times: Vec<i64> = row.windows(2).map(|two| two[1].at - two[0].at).collect();
        let middle = median(&mut times.clone()).unwrap_or(0);
        let near = |time: i64, wanted: i64| (time - wanted).abs() * 100 <= middle * UNEVEN;
        let gaps = times.iter().filter(|time| near(**time, 2 * middle)).count();
        let even = times.iter().filter(|time| near(**time, middle)).count();
        if middle >= SLOWEST && even + gaps == times.len() && gaps * 3 <= times.len() {
            rows += 1;
            lost.extend(std::iter::repeat_n(place(&row[0].played), gaps));
        }
    }
    (lost, rows)
}

fn in_chords(notes: &[Note], chords: &[Vec<usize>]) -> (Vec<usize>, usize) {
    let chord = |chord: &Vec<usize>| -> [Option<Pitch>; PLACES] {
        let mut pitches = [None; PLACES];
        for index in chord {
            pitches[place(&notes[*index].played)] = Some(notes[*index].played.pitch);
        }
        pitches
    };
    let all: Vec<_> = chords.iter().map(chord).collect();
    let times = |wanted: &[Option<Pitch>; PLACES]| all.iter().filter(|it| *it == wanted).count();
    let mut whole: Vec<&[Option<Pitch>; PLACES]> = Vec::new();
    for chord in &all {
        if times(chord) >= WHOLE && !whole.contains(&chord) {
            whole.push(chord);
        }
    }
    let mut lost = Vec::new();
    for chord in all.iter().filter(|chord| times(chord) < WHOLE) {
        let missing = whole.iter().find_map(|whole| {
            let differ: Vec<usize> =
                (0..PLACES).filter(|index| chord[*index] != whole[*index]).collect();
            match differ[..] {
                [one] if chord[one].is_none() => Some(one),
                _ => None,
            }
        });
        lost.extend(missing);
    }
    (lost, whole.len())
}
