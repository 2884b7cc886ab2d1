//! The study that learners practise: three bars of sixteenths, each with a landing on the next.

use super::model::Learner;
use evenhand_core::practice::{ChunkFacts, Earlier, Piece, Rules, Side, Spot};
use evenhand_core::units::{Tempo, Ticks};

/// Events of a chunk, without its landing.
pub const EVENTS: u8 = 16;

/// Chunks of the study.
pub(super) const CHUNKS: u8 = 3;

/// The beat.
pub(super) const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

/// The tempo to reach, in beats a minute.
pub(super) const GOAL: u32 = 100;

/// An event of the study: its chunk, and its number in it; the landing is number [`EVENTS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// The chunk.
    pub chunk: u8,
    /// The event in it.
    pub event: u8,
}

/// What practice has to know of each chunk.
pub(super) fn facts(learner: &Learner, fastest_clean: Option<Tempo>) -> ChunkFacts {
    ChunkFacts {
        goal: Tempo::from_beats_per_minute(learner.goal, BEAT).expect("a tempo"),
        beat: BEAT,
        rules: Rules::of(learner.level),
        fastest_clean,
        earlier: Earlier::Unknown,
        notes: 17,
        length: Ticks::new(4 * Ticks::PER_QUARTER),
        splits: true,
        varies: true,
        joins_next: true,
        fingerings: 0,
    }
}

/// The events of a piece in order, its landing last.
pub fn notes(piece: Piece) -> Vec<Note> {
    let part = |chunk: u8, events: std::ops::RangeInclusive<u8>| {
        events.map(move |event| Note { chunk, event })
    };
    let half = EVENTS / 2;
    match piece {
        Piece::Chunk(chunk) => part(chunk, 0..=EVENTS).collect(),
        Piece::Half(chunk, Side::First) => part(chunk, 0..=half).collect(),
        Piece::Half(chunk, Side::Second) => part(chunk, half..=EVENTS).collect(),
        Piece::Seam(chunk) => {
            part(chunk, half..=EVENTS - 1).chain(part(chunk + 1, 0..=half)).collect()
        }
        Piece::Join { first, last, .. } => {
            let before = (first..last).flat_map(|chunk| part(chunk, 0..=EVENTS - 1));
            before.chain(part(last, 0..=EVENTS)).collect()
        }
        Piece::Spot(spot) => {
            let Spot { from, to, .. } = spot;
            let all = notes(spot.piece());
            let end = (usize::from(to) + 2).min(all.len());
            all[usize::from(from)..end].to_vec()
        }
    }
}
