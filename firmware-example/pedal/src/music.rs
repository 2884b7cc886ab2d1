//! Where the music comes from: a pedal's memory, or a single pack.

use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::pack::Pack;
use evenhand_core::practice::{ChunkFacts, Task};
use evenhand_core::study::{Chunk, ExpectedNote};
use heapless::Vec;

/// Room for the notes of the longest piece.
pub type Notes = Vec<ExpectedNote, EXPECTED_NOTES>;

/// A study, which may be one of several.
pub trait Music {
    /// What practice has to know of a chunk, counted from 0; `None` beyond the last.
    fn facts(&self, chunk: u8) -> Option<ChunkFacts>;

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
