//! Chords that were struck at once, and how late each string comes in them.

use super::super::median;
use super::{Note, PLACES, place};
use evenhand_core::pickup::Latency;
use evenhand_core::units::Offset;

/// Notes within this time, in microseconds, may be one chord: more than the widest step between strings
/// that was measured (60 ms), and a hand that is not quite together. Our default.
const WITHIN: i64 = 100_000;

/// Before and after a chord nothing is struck for so long, in microseconds: a broken chord is none. Our
/// default.
const APART: i64 = 150_000;

/// Strings that a chord has at least, so that one of them can be told from the others. Our default.
const FEWEST_STRINGS: usize = 3;

/// Chords that a string needs, so that it is told how late it comes. Our default.
const FEWEST: usize = 5;

/// How late a string comes in chords, without one period of its pitch, against the middle of each chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Late {
    /// By how much (the median), in microseconds; later is positive.
    pub by: i64,
    /// How far that scatters (standard deviation, from the median distance), in microseconds.
    pub scatter: i64,
}

/// The chords, as numbers of notes.
pub(super) fn chords(notes: &[Note]) -> Vec<Vec<usize>> {
    let struck: Vec<usize> = (0..notes.len())
        .filter(|index| {
            let note = &notes[*index];
            note.mistake.is_none() && !note.played.is_bent() && note.played.string.is_some()
        })
        .collect();
    let at = |index: &usize| notes[*index].at;
    let groups = struck.chunk_by(|a, b| at(b) - at(a) < APART);
    let is_chord = |group: &&[usize]| {
        let mut strings: Vec<usize> =
            group.iter().map(|index| place(&notes[*index].played)).collect();
        strings.sort_unstable();
        strings.dedup();
        let [first, .., last] = group else { return false };
        at(last) - at(first) <= WITHIN
            && strings.len() == group.len()
            && group.len() >= FEWEST_STRINGS
    };
    groups.filter(is_chord).map(<[usize]>::to_vec).collect()
}

/// How late each string comes, string 1 first.
pub(super) fn late(notes: &[Note], chords: &[Vec<usize>]) -> [Option<Late>; PLACES] {
    let one = Latency { base: Offset::ZERO, periods_percent: 100 };
    let mut off: [Vec<i64>; PLACES] = Default::default();
    for chord in chords {
        let at = |index: &usize| {
            notes[*index].at - i64::from(one.of(notes[*index].played.pitch).as_micros())
        };
        let middle = median(&mut chord.iter().map(at).collect::<Vec<_>>()).unwrap_or(0);
        for index in chord {
            off[place(&notes[*index].played)].push(at(index) - middle);
        }
    }
    off.map(|mut off| {
        let by = median(&mut off).filter(|_| off.len() >= FEWEST)?;
        let mut apart: Vec<i64> = off.iter().map(|off| (off - by).abs()).collect();
        // 1.4826 median distances are a standard deviation (Hampel 1974).
        let scatter = median(&mut apart)? * 14_826 / 10_000;
        Some(Late { by, scatter })
    })
}
