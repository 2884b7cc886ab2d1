//! Simulated rehearsals: somebody works at a study, breaks off, goes back, begins again; with the
//! truth about it.
//!
//! The figures are those of 22 rehearsals of two pianists, from an open data set, as they stand
//! beside each distribution here. A break is a move backward, a leap of more than eight events, or
//! two seconds of silence.

mod explain;
mod hand;
pub mod music;
mod tally;
mod truth;

use evenhand::study::Prepared;
use evenhand_core::notes::NoteEvent;
use evenhand_core::player::Chance;
use evenhand_core::units::Instant;
use hand::Hand;
pub use tally::{Of, Tally};
pub use truth::{FalseStart, Kind, Traversal};

/// How far back, or left out, is still a return or a gap, in events.
pub const STEP: usize = 8;

/// Silence that ends an attempt, in microseconds.
pub const SILENCE: u64 = 2_000_000;

/// An event of the study: its chunk and its number there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The chunk.
    pub chunk: usize,
    /// The event of the chunk, from 0.
    pub event: usize,
}

/// Music that was played in one go.
#[derive(Clone, Debug)]
struct Run {
    /// Its events, by their number in the study.
    from: usize,
    to: usize,
    /// Events that were left out on the way, in a row.
    left_out: Option<(usize, usize)>,
    /// Whether a note in it was wrong, missing or one too many, at these events.
    slips: Vec<usize>,
    /// When its first note began, and its last.
    began: u64,
    ended: u64,
}

/// A rehearsal.
#[derive(Clone, Debug)]
pub struct Rehearsal {
    /// What came, in order of time.
    pub events: Vec<(Instant, NoteEvent)>,
    /// Where each note was meant to be; none for one too many.
    pub notes: Vec<Option<Place>>,
    /// Whole chunks that were played through.
    pub traversals: Vec<Traversal>,
    /// Chunks that were begun and broken off.
    pub false_starts: Vec<FalseStart>,
    /// How long it took.
    pub length: Instant,
}

/// The value of a distribution at a chance below 1,000, between its quantiles (as per mille and
/// value) along straight lines.
fn quantile(quantiles: &[(u32, u32)], chance: u32) -> u32 {
    let after = quantiles.iter().position(|(share, _)| *share > chance);
    let after = after.unwrap_or(quantiles.len() - 1).max(1);
    let ((from, low), (to, high)) = (quantiles[after - 1], quantiles[after]);
    let (low, high) = (i64::from(low), i64::from(high));
    let part = i64::from(chance.saturating_sub(from)) * (high - low) / i64::from(to - from);
    u32::try_from(low + part).unwrap_or(0)
}

/// How long a run lasts, in milliseconds: 0.7, 1.3, 3.4, 12.8 and 31 s at 10, 25, 50, 75, 90 %.
const RUN: [(u32, u32); 7] = [
    (0, 350),
    (100, 700),
    (250, 1_300),
    (500, 3_400),
    (750, 12_800),
    (900, 31_000),
    (1_000, 45_000),
];

/// The pause before a restart, in milliseconds: .08, .22, .44, .98 and 5.6 s.
const PAUSE: [(u32, u32); 7] =
    [(0, 20), (100, 80), (250, 220), (500, 440), (750, 980), (900, 5_600), (1_000, 12_000)];

/// How much the tempo changes from one repetition to the next, in per mille: 5 % in the median,
/// 30 % at 90 %.
const TEMPO: [(u32, u32); 5] = [(0, 0), (500, 50), (750, 130), (900, 300), (1_000, 400)];

/// Simulates so many minutes of work at a study.
pub fn rehearse(chunks: &[Prepared], minutes: u64, seed: u64) -> Rehearsal {
    let mut hand = Hand::new(chunks, Chance::new(seed));
    let mut start = hand.any_chunk();
    let mut before: Option<(usize, usize)> = None;
    while hand.now() < minutes * 60_000_000 {
        let wanted = hand.run_length(start);
        let to = match before {
            // Breaks stick to few places: 57 % are within a bar of the last one.
            Some((_, broke)) if broke > start && hand.chance(570) => hand.near(broke, start),
            _ => start + wanted,
        };
        let to = hand.play(start, to);
        before = Some((start, to));
        start = hand.next_start(start, to);
    }
    hand.finish()
}
