//! Where the music comes from: a pedal's memory, or a single pack.

use evenhand_core::limits::{CHUNKS, EXPECTED_NOTES};
use evenhand_core::pack::Pack;
use evenhand_core::practice::{ChunkFacts, CleanRow, KeptAttempt, Piece, Task};
use evenhand_core::study::{Chunk, ExpectedNote};
use heapless::Vec;

/// Room for the notes of the longest piece.
pub type Notes = Vec<ExpectedNote, EXPECTED_NOTES>;

/// What is known of a study from earlier sittings. It is large: for a moment, when practice begins.
#[derive(Clone, Debug)]
pub struct Known {
    chunks: [KnownPiece; CHUNKS],
    /// The joins, by the seam that is new in them: first and last chunk.
    joins: [Option<(u8, u8, KnownPiece)>; CHUNKS],
}

/// What is known of a piece.
#[derive(Clone, Copy, Debug, Default)]
struct KnownPiece {
    row: CleanRow,
    /// The fastest tempo at which it was clean often enough in a row, in beats a minute; 0 if it was not.
    fastest: u16,
}

impl Default for Known {
    fn default() -> Self {
        Self::new()
    }
}

impl Known {
    /// Nothing.
    pub const fn new() -> Self {
        const NONE: KnownPiece = KnownPiece { row: CleanRow::new(), fastest: 0 };
        Self { chunks: [NONE; CHUNKS], joins: [None; CHUNKS] }
    }

    /// Takes an attempt at a piece, the next one of those that were kept. A seam is joined as it was last.
    pub(crate) fn take(&mut self, piece: Piece, attempt: &KeptAttempt, in_a_row: u8) {
        let place = match piece {
            Piece::Chunk(chunk) => self.chunks.get_mut(usize::from(chunk)),
            Piece::Join { first, seam, last } => {
                self.joins.get_mut(usize::from(seam)).map(|join| {
                    if join.is_some_and(|(from, to, _)| (from, to) != (first, last)) {
                        *join = None;
                    }
                    &mut join.get_or_insert((first, last, KnownPiece::default())).2
                })
            }
            Piece::Half(..) | Piece::Seam(_) | Piece::Spot(_) => None,
        };
        let Some(known) = place else { return };
        if let Some(beats) = known.row.take(attempt, in_a_row) {
            known.fastest = known.fastest.max(u16::try_from(beats).unwrap_or(u16::MAX));
        }
    }

    /// The fastest tempo at which this chunk was clean, counted from 0, in beats a minute.
    pub fn chunk(&self, chunk: u8) -> Option<u16> {
        self.chunks.get(usize::from(chunk)).and_then(KnownPiece::fastest)
    }

    /// The joins that were practised, each with the fastest tempo at which it was clean, in the order of their
    /// seams.
    pub fn joins(&self) -> impl Iterator<Item = (Piece, Option<u16>)> + '_ {
        (0..).zip(&self.joins).filter_map(|(seam, join)| {
            let (first, last, known) = (*join)?;
            Some((Piece::Join { first, seam, last }, known.fastest()))
        })
    }
}

impl KnownPiece {
    const fn fastest(&self) -> Option<u16> {
        if self.fastest > 0 { Some(self.fastest) } else { None }
    }
}

/// A study, which may be one of several.
pub trait Music {
    /// What practice has to know of a chunk, counted from 0, but for what was before; `None` beyond the last.
    fn facts(&self, chunk: u8) -> Option<ChunkFacts>;

    /// Says what is known of it from earlier sittings.
    fn known(&self, known: &mut Known) {
        let _ = known;
    }

    /// Writes the notes of a piece, in the way and at the tempo that are asked for. `fingering`
    /// says for each chunk which fingering is in use. `None` if there is no such piece.
    fn music<'n>(
        &self,
        task: Task,
        fingering: &dyn Fn(u8) -> u8,
        notes: &'n mut Notes,
    ) -> Option<Chunk<'n>>;

    /// How many studies there are to choose from, one at least.
    fn studies(&self) -> u8 {
        1
    }

    /// Which of them this is, counted from 0.
    fn study(&self) -> u8 {
        0
    }

    /// How many chunks there are.
    fn chunks(&self) -> u8;
}

impl Music for Pack<'_> {
    fn facts(&self, chunk: u8) -> Option<ChunkFacts> {
        self.facts(chunk)
    }

    fn music<'n>(
        &self,
        task: Task,
        fingering: &dyn Fn(u8) -> u8,
        notes: &'n mut Notes,
    ) -> Option<Chunk<'n>> {
        self.music(task, fingering, notes).ok()
    }

    fn chunks(&self) -> u8 {
        self.chunks()
    }
}
