//! What was played, where it was none of what was listened for: another chunk of the study, or everything
//! higher or lower by the same interval.

use crate::in_common::in_common;
use crate::study::Prepared;
use evenhand_core::units::{Instant, Offset, Pitch};

/// Fewer notes of a chunk than this are too few to know it by. Our default.
const FEWEST: usize = 6;

/// So many per cent of a chunk's notes have to be there, in order. Our default: a slip in eight, and the
/// landing left out.
const THERE: usize = 80;

/// By so many per cent of its notes more of it have to be there than of what is asked for: that may have been
/// meant, with slips, and a scale a whole tone higher still has most of its notes. Our default.
const MORE: usize = 25;

/// The widest interval that is looked for, in semitones: a capo at the twelfth fret, or the wrong octave of a
/// converter.
const WIDEST: i8 = 12;

/// Notes within this time are one chord, in whatever order they come. Our default, as where strings come late
/// by their periods.
const TOGETHER: Offset = Offset::from_millis(50);

/// What it was instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Otherwise<'a> {
    /// The chunk that it was.
    pub chunk: &'a str,
    /// By so many semitones too high; negative is too low, 0 as written.
    pub semitones: i8,
}

impl Otherwise<'_> {
    /// That in a sentence. `asked` is the chunk that is asked for, if one is.
    pub fn sentence(&self, asked: Option<&str>) -> String {
        let Self { chunk, semitones } = self;
        if *semitones == 0 {
            return match asked {
                Some(asked) => format!("That was “{chunk}”; “{asked}” is asked for."),
                None => format!("That was “{chunk}”."),
            };
        }
        let way = if *semitones > 0 { "higher" } else { "lower" };
        format!(
            "“{chunk}”, but all of it {} {way} than it is written: is there a capo, or another tuning?",
            interval(semitones.unsigned_abs())
        )
    }
}

/// An interval in words.
fn interval(semitones: u8) -> String {
    match semitones {
        1 => "a semitone".to_owned(),
        2 => "a whole tone".to_owned(),
        12 => "an octave".to_owned(),
        more => format!("{more} semitones"),
    }
}

/// What these notes were, each with when it began, where they are not what is asked for, if something is.
/// `None` where they are that, or nothing that can be told.
pub fn otherwise<'a>(
    notes: &[(Pitch, Instant)],
    asked: Option<&'a Prepared>,
    chunks: &'a [Prepared],
) -> Option<Otherwise<'a>> {
    let played = in_order(notes);
    let others =
        || chunks.iter().filter(|chunk| asked.is_none_or(|asked| asked.name != chunk.name));
    let own = asked.map_or(0, |asked| there(&played, asked, 0));
    let intervals = (1..=WIDEST).flat_map(|semitones| [semitones, -semitones]);
    let shifted =
        intervals.flat_map(|by| asked.into_iter().chain(others()).map(move |chunk| (chunk, by)));
    let mut best: Option<(usize, Otherwise<'a>)> = None;
    // What has most notes there; of equals what is as written, the smaller interval, what is asked for.
    for (chunk, semitones) in others().map(|chunk| (chunk, 0)).chain(shifted) {
        let there = there(&played, chunk, semitones);
        if there >= THERE.max(own + MORE) && best.is_none_or(|(most, _)| there > most) {
            best = Some((there, Otherwise { chunk: &chunk.name, semitones }));
        }
    }
    best.map(|(_, other)| other)
}

/// The notes of a chord from low to high, whatever order they came in.
fn in_order(notes: &[(Pitch, Instant)]) -> Vec<u8> {
    let mut played: Vec<u8> = Vec::with_capacity(notes.len());
    let (mut chord, mut began) = (0, None);
    for (pitch, at) in notes {
        if began.is_none_or(|began| at.since(began) > TOGETHER) {
            (chord, began) = (played.len(), Some(*at));
        }
        played.push(pitch.number());
        if let Some(chord) = played.get_mut(chord..) {
            chord.sort_unstable();
        }
    }
    played
}

/// How many per cent of a chunk's notes, so many semitones higher, are the last ones of `played`, in order;
/// none of a chunk that is too short to be known.
fn there(played: &[u8], chunk: &Prepared, semitones: i8) -> usize {
    let expected: Vec<i16> = chunk
        .notes
        .iter()
        .map(|note| i16::from(note.pitch.number()) + i16::from(semitones))
        .collect();
    if expected.len() < FEWEST {
        return 0;
    }
    // A loop has it several times; a few notes more than there are leave room for slips.
    let from = played.len().saturating_sub(expected.len() + 2);
    let last: Vec<i16> =
        played.get(from..).unwrap_or_default().iter().copied().map(i16::from).collect();
    in_common(&last, &expected, |one, other| one == other) * 100 / expected.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    const STUDY: &str = "evenhand study 1\ntitle Two bars\nmetre 4/4\ntempo 100\nlevel first\n\
        chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n\
        chunk \"Chords\" at bar 2\n  m: 1/4 6:0+5:2+4:2 6:3+5:2+4:0 6:0+5:2+4:2 6:3+5:2+4:0 |\n";

    fn chunks() -> Vec<Prepared> {
        crate::study::parse(STUDY).unwrap().prepare().unwrap()
    }

    /// The notes of a chunk half a second apart, chords from high to low, so many semitones higher.
    fn played(chunk: &Prepared, semitones: i8) -> Vec<(Pitch, Instant)> {
        let mut notes: Vec<_> = chunk.notes.iter().collect();
        notes.sort_by_key(|note| (note.onset, std::cmp::Reverse(note.pitch)));
        let at = |index: usize, onset: u32| {
            let micros = u64::from(onset) * 1_000 + index as u64;
            Instant::from_micros(micros)
        };
        let notes = notes.iter().enumerate();
        let pitch = |pitch: Pitch| pitch.transposed(semitones).unwrap();
        notes.map(|(index, note)| (pitch(note.pitch), at(index, note.onset.get()))).collect()
    }

    #[test]
    fn another_chunk_and_another_tuning_are_known() {
        let chunks = chunks();
        let told = |notes: &[(Pitch, Instant)], asked: Option<usize>| {
            otherwise(notes, asked.map(|asked| &chunks[asked]), &chunks)
                .map(|it| (it.chunk, it.semitones))
        };
        for semitones in [-12, -2, -1, 1, 2, 12] {
            assert_eq!(told(&played(&chunks[0], semitones), Some(0)), Some(("Up", semitones)));
            let chords = played(&chunks[1], semitones);
            assert_eq!(told(&chords, Some(1)), Some(("Chords", semitones)));
            assert_eq!(told(&chords, None), Some(("Chords", semitones)));
        }
        assert_eq!(told(&played(&chunks[1], 0), Some(0)), Some(("Chords", 0)));
        assert_eq!(told(&played(&chunks[0], 0), Some(0)), None, "that is it");
        // A slip and no landing; then too little of it.
        let mut slip = played(&chunks[0], 1);
        slip[3].0 = Pitch::new(60).unwrap();
        assert_eq!(told(&slip, Some(0)), Some(("Up", 1)));
        assert_eq!(told(&slip[..6], Some(0)), None);
        // Looped.
        assert_eq!(told(&[slip.clone(), slip].concat(), Some(0)), Some(("Up", 1)));
    }

    #[test]
    fn it_is_said_as_a_teacher_would() {
        let said = |semitones| Otherwise { chunk: "Up", semitones }.sentence(Some("Chords"));
        assert_eq!(said(0), "That was “Up”; “Chords” is asked for.");
        assert_eq!(
            said(-2),
            "“Up”, but all of it a whole tone lower than it is written: is there a capo, or another tuning?"
        );
        assert_eq!(Otherwise { chunk: "Up", semitones: 0 }.sentence(None), "That was “Up”.");
        assert!(said(1).contains("a semitone higher") && said(5).contains("5 semitones higher"));
    }
}
