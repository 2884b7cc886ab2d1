//! Passages that are much alike: the same rhythm, and nearly the same intervals.
//!
//! A second passage like the first in the same evening seems to inhibit what the night brings to the first
//! (60 musicians; see `docs/practice.md`). What *alike* is, no source says: how it is measured here is our
//! default.

use crate::in_common::in_common;
use crate::study::Prepared;

/// Two passages are alike from so many of their moves on that they have in common, in per mille. Our default.
const ALIKE_PER_MILLE: usize = 700;

/// A passage of fewer moves is like nothing. Our default.
const FEWEST_MOVES: usize = 4;

/// Intervals that differ by no more than this are the same, in semitones: so one shape stays one shape where
/// it crosses from the third string to the second. Our default.
const SAME_WITHIN: i16 = 1;

/// From one event to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Move {
    /// How long it takes, in quarters of the passage's shortest one, so that eighths are like sixteenths.
    time: u32,
    /// How far the highest note goes up, in semitones.
    top: i16,
    /// How far the lowest does.
    bottom: i16,
}

impl Move {
    const fn is_like(self, other: Self) -> bool {
        self.time == other.time
            && (self.top - other.top).abs() <= SAME_WITHIN
            && (self.bottom - other.bottom).abs() <= SAME_WITHIN
    }
}

/// The passage of these chunks, from event to event.
fn moves(chunks: &[&Prepared]) -> Vec<Move> {
    let mut moves: Vec<Move> = Vec::new();
    for chunk in chunks {
        let mut events: Vec<(u32, i16, i16)> = Vec::new();
        for note in &chunk.notes {
            let (at, pitch) = (note.onset.get(), i16::from(note.pitch.number()));
            match events.last_mut() {
                Some((last, low, high)) if *last == at => {
                    (*low, *high) = ((*low).min(pitch), (*high).max(pitch));
                }
                _ => events.push((at, pitch, pitch)),
            }
        }
        let steps = events.iter().zip(events.iter().skip(1));
        let shortest = steps.clone().map(|(one, next)| next.0.saturating_sub(one.0)).min();
        let shortest = shortest.unwrap_or(1).max(1);
        moves.extend(steps.map(|(one, next)| Move {
            time: next.0.saturating_sub(one.0).saturating_mul(4) / shortest,
            top: next.2 - one.2,
            bottom: next.1 - one.1,
        }));
    }
    moves
}

/// Whether two passages are much alike, transposed or not.
pub(super) fn are_alike(one: &[&Prepared], other: &[&Prepared]) -> bool {
    let (one, other) = (moves(one), moves(other));
    if one.len().min(other.len()) < FEWEST_MOVES {
        return false;
    }
    let common = in_common(&one, &other, |one, other| one.is_like(*other));
    2 * common * 1_000 >= ALIKE_PER_MILLE * (one.len() + other.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chunk(metre: &str, notes: &str) -> Vec<Prepared> {
        let text = format!(
            "evenhand study 1\nmetre {metre}\ntempo 80\nchunk \"A\" at bar 1\n  m: {notes} |\n"
        );
        crate::study::parse(&text).unwrap().prepare().unwrap()
    }

    fn alike(one: &str, other: &str) -> bool {
        let (one, other) = (chunk("4/4", one), chunk("4/4", other));
        are_alike(&[&one[0]], &[&other[0]])
    }

    const FIGURE: &str = "1/8 5:0 5:2 5:3 4:0 5:3 5:2 5:0 4:2";

    #[test]
    fn the_same_figure_is_alike_on_other_strings_and_an_octave_up() {
        assert!(alike(FIGURE, FIGURE));
        assert!(alike(FIGURE, "1/8 6:0 6:2 6:3 5:0 6:3 6:2 6:0 5:2"));
        assert!(alike(FIGURE, "1/8 3:2 3:4 3:5 2:3 3:5 3:4 3:2 2:5"));
        // One note in eight is another one.
        assert!(alike(FIGURE, "1/8 5:0 5:2 5:3 4:0 5:3 5:2 5:0 5:3"));
    }

    #[test]
    fn begun_a_note_later_it_is_the_same_figure() {
        assert!(alike(FIGURE, "1/8 4:2 5:0 5:2 5:3 4:0 5:3 5:2 5:0"));
    }

    #[test]
    fn another_rhythm_or_another_way_is_not() {
        assert!(!alike(FIGURE, "1/4 5:0 1/8 5:2 5:3 1/4 4:0 1/8 5:3 5:2"));
        assert!(!alike(FIGURE, "1/8 1:7 1:5 1:3 1:1 1:0 2:3 2:1 2:0"), "down all the way");
        assert!(!alike("1/2 5:0 5:2", "1/2 5:0 5:2"), "two notes are like nothing");
    }

    #[test]
    fn eighths_are_like_sixteenths() {
        let (slow, fast) = (chunk("4/4", FIGURE), chunk("2/4", &FIGURE.replace("1/8", "1/16")));
        assert!(are_alike(&[&slow[0]], &[&fast[0]]));
    }
}
