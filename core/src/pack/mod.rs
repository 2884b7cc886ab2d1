//! Studies and results as compact bytes, for the way between a computer and a pedal.
//!
//! A *pack* is a study whose music is built already: each chunk in every rhythm and fingering
//! that practice can come to, and its halves. Joins and the notes around seams are put together
//! from those when they are asked for, by rules that the computer follows, too, so that a pedal
//! plays the very same. A pedal needs no parser of studies, and finds nothing in a pack that was
//! not checked when it was opened.
//!
//! A [`ResultRecord`] is an attempt as a pedal keeps it until a computer fetches it.
//!
//! Both are specified byte by byte in `docs/pack-format.md`. All integers of fixed width are
//! little-endian; the rest is postcard's wire format (<https://postcard.jamesmunns.com>).

mod chunk;
mod codes;
mod crc;
mod header;
mod music;
mod name;
mod note;
mod played;
mod problem;
mod record;
#[cfg(test)]
mod tests;
mod tolerances;
mod write;

pub use crc::crc32;
#[cfg(feature = "link")]
pub(crate) use crc::crc32_of;
pub use header::{HEADER, MAGIC, VERSION, total};
pub use name::PieceName;
pub use played::{PlayedNotes, PlayedNotesIter};
pub use problem::{Missing, PackProblem, RecordProblem, WriteProblem, Wrong};
pub use record::{FoundRecord, RECORD_HEADER, RECORD_VERSION, ResultRecord};
pub use write::{ChunkParts, PackWriter, Part};

use crate::limits;
use crate::practice::{ChunkFacts, Piece, Task};
use crate::study::{Chunk, ExpectedNote};
use crate::units::{Tempo, Ticks};
use chunk::ChunkHead;
use heapless::Vec;

/// A pack, checked from its first byte to its last.
///
/// It borrows its bytes, which on a board may lie in flash; nothing is copied but the notes that
/// are asked for.
#[derive(Clone, Copy, Debug)]
pub struct Pack<'a> {
    bytes: &'a [u8],
    study: u64,
    title: &'a str,
    chunks: u8,
}

impl<'a> Pack<'a> {
    /// Opens a pack. What stands behind its end is not looked at: see [`total`] for where that
    /// is.
    ///
    /// Everything is checked here once: the checksum, every number against its range, and every
    /// part as [`Chunk::new`] checks it. It takes time in proportion to the length, and little
    /// stack.
    ///
    /// # Errors
    ///
    /// What is wrong with it. Nothing can be read from a pack that is not whole.
    pub fn open(bytes: &'a [u8]) -> Result<Self, PackProblem> {
        let bytes = header::check(bytes)?;
        let (study, count) = chunk::counted(bytes)?;
        let chunks = u8::try_from(count).ok().filter(|n| usize::from(*n) <= limits::CHUNKS);
        let chunks = chunks.filter(|n| *n > 0).ok_or(PackProblem::Wrong(Wrong::Chunks))?;
        let (title, mut at) = chunk::title(bytes, chunks)?;
        for index in 0..chunks {
            if chunk::offset(bytes, index) != Some(at) {
                return Err(PackProblem::InChunk(index, Wrong::Place));
            }
            at = chunk::check(bytes, at, index, chunks)?;
        }
        if at != bytes.len() {
            return Err(PackProblem::Wrong(Wrong::Place));
        }
        Ok(Self { bytes, study, title, chunks })
    }

    /// Opens a pack once more that was opened before and has not changed since, without checking
    /// all of it again: for boards that cannot hold on to the borrow. `None` if it cannot be. Of
    /// other bytes what is read is wrong or missing; nothing panics.
    pub fn open_again(bytes: &'a [u8]) -> Option<Self> {
        let bytes = bytes.get(..total(bytes)? as usize)?;
        let (study, count) = chunk::counted(bytes).ok()?;
        let chunks = u8::try_from(count).ok().filter(|n| usize::from(*n) <= limits::CHUNKS)?;
        let (title, _) = chunk::title(bytes, chunks).ok()?;
        Some(Self { bytes, study, title, chunks })
    }

    /// The bytes of the pack, from its first to its last.
    pub const fn bytes(&self) -> &'a [u8] {
        self.bytes
    }

    /// The checksum that stands in its header. Two packs with the same checksum and length are
    /// taken for the same.
    pub fn checksum(&self) -> u32 {
        header::checksum(self.bytes).unwrap_or(0)
    }

    /// The hash of the study's text: FNV-1a, 64 bits. It tells versions apart.
    pub const fn study(&self) -> u64 {
        self.study
    }

    /// The title of the study.
    pub const fn title(&self) -> &'a str {
        self.title
    }

    /// How many chunks there are, one at least. They are numbered from 0.
    pub const fn chunks(&self) -> u8 {
        self.chunks
    }

    /// The name of a chunk.
    pub fn name(&self, chunk: u8) -> Option<&'a str> {
        self.head(chunk).map(|head| head.name)
    }

    /// What practice has to know of a chunk. What is known from earlier days is the pedal's to
    /// add.
    pub fn facts(&self, chunk: u8) -> Option<ChunkFacts> {
        self.head(chunk).map(|head| head.facts())
    }

    /// The name of another fingering of a chunk, counted from 1; 0 is the one that is written
    /// and has none.
    pub fn fingering(&self, chunk: u8, fingering: u8) -> Option<&'a str> {
        let name = self.head(chunk)?.fingering(fingering)?.name;
        (fingering > 0).then_some(name)
    }

    /// The name of a piece, for a screen: `Lanterns, first half`.
    pub const fn piece_name(&self, piece: Piece) -> PieceName<'a> {
        PieceName::new(*self, piece)
    }

    /// The tempo that a piece is to reach: the slowest of its chunks.
    pub fn goal(&self, piece: Piece) -> Option<Tempo> {
        let (first, last) = piece.span();
        let mut goal: Option<Tempo> = None;
        for chunk in first..=last {
            let own = self.head(chunk)?.goal;
            goal = Some(goal.map_or(own, |goal| goal.slower(own)));
        }
        goal
    }

    /// The beat in which the tempi of a piece are counted.
    pub fn beat(&self, piece: Piece) -> Option<Ticks> {
        Some(self.head(piece.span().0)?.metre.beat())
    }

    /// The music of a task at its tempo, with what it is judged by: what a session listens for.
    /// `fingering` tells for each chunk which fingering is in use, 0 for the one that is written
    /// ([`Practice::fingering`](crate::practice::Practice::fingering)). `notes` is emptied
    /// first.
    ///
    /// ```
    /// # use evenhand_core::{limits::EXPECTED_NOTES, practice::*, pack::*, study::Chunk};
    /// # fn f(pack: &Pack<'_>, practice: &Practice, task: Task) -> Result<(), Missing> {
    /// let mut notes = heapless::Vec::<_, EXPECTED_NOTES>::new();
    /// let chunk: Chunk<'_> = pack.music(task, |chunk| practice.fingering(chunk), &mut notes)?;
    /// # let _ = chunk; Ok(())
    /// # }
    /// ```
    ///
    /// # Errors
    ///
    /// If this study has no such piece.
    pub fn music<'n>(
        &self,
        task: Task,
        fingering: impl Fn(u8) -> u8,
        notes: &'n mut Vec<ExpectedNote, { limits::EXPECTED_NOTES }>,
    ) -> Result<Chunk<'n>, Missing> {
        music::build(self, task, &fingering, notes)
    }

    fn head(&self, chunk: u8) -> Option<ChunkHead<'a>> {
        if chunk >= self.chunks {
            return None;
        }
        ChunkHead::read(self.bytes, chunk::offset(self.bytes, chunk)?).ok().map(|(head, _)| head)
    }
}
