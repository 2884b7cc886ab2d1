//! Writes a pack. The computer does this; it stands here so that what is written and what is
//! read cannot come apart.

use super::Pack;
use super::chunk::{FingeringWritten, HeadWritten, JOINS_NEXT, PartWritten, SPLITS, TABLE, VARIES};
use super::header::{self, HEADER};
use super::music::VARIED;
use super::problem::{PackProblem, WriteProblem, Wrong};
use super::{note, tolerances};
use crate::practice::{PracticeVariant, Rules};
use crate::study::{ExpectedNote, Metre};
use crate::tolerance::Tolerances;
use crate::units::{Tempo, Ticks};
use heapless::Vec;
use serde::Serialize;

/// What is written of a chunk before its parts.
#[derive(Clone, Copy, Debug)]
pub struct ChunkParts<'a> {
    /// Its name.
    pub name: &'a str,
    /// The tempo to reach.
    pub goal: Tempo,
    /// Its metre.
    pub metre: Metre,
    /// When the tempo changes.
    pub rules: Rules,
    /// What it is judged by.
    pub tolerances: Tolerances,
    /// Its halves follow.
    pub splits: bool,
    /// Both other rhythms of its written fingering follow.
    pub varies: bool,
    /// The next chunk can be joined to it.
    pub joins_next: bool,
    /// Its voices, each by the number that its name has in the whole study.
    pub voices: &'a [u16],
    /// How many other fingerings follow the one that is written.
    pub fingerings: u8,
}

/// A part: a chunk, or a half of one.
#[derive(Clone, Copy, Debug)]
pub struct Part<'a> {
    /// The bar in which it begins.
    pub first_bar: u16,
    /// How far into that bar.
    pub into_first_bar: Ticks,
    /// How long it lasts, the landing not included.
    pub length: Ticks,
    /// Its notes, in order; none for a half that cannot be judged.
    pub notes: &'a [ExpectedNote],
}

/// Writes a pack into bytes that somebody else has.
///
/// Chunk by chunk; of each the fingerings, the one that is written first; of each fingering the
/// rhythm that is written, then long and short, then short and long, those that there are; of
/// each of those the whole, and if it splits, its first and its second half.
/// [`finish`](PackWriter::finish) opens what was written, so that a mistake in this order makes
/// no pack.
#[derive(Debug)]
pub struct PackWriter<'b> {
    bytes: &'b mut [u8],
    at: usize,
    begun: u8,
    chunks: u8,
}

impl<'b> PackWriter<'b> {
    /// Begins a pack of so many chunks. `study` is the hash of the study's text.
    ///
    /// # Errors
    ///
    /// If there is no room.
    pub fn new(
        bytes: &'b mut [u8],
        study: u64,
        title: &str,
        chunks: u8,
    ) -> Result<Self, WriteProblem> {
        let mut writer = Self { bytes, at: HEADER, begun: 0, chunks };
        writer.plain(&study.to_le_bytes())?;
        writer.plain(&u16::from(chunks).to_le_bytes())?;
        for _ in 0..chunks {
            writer.plain(&[0; 4])?;
        }
        writer.put(&title)?;
        Ok(writer)
    }

    /// Begins the next chunk.
    ///
    /// # Errors
    ///
    /// If there is no room.
    pub fn chunk(&mut self, chunk: &ChunkParts<'_>) -> Result<(), WriteProblem> {
        if self.begun >= self.chunks {
            return Err(WriteProblem::Wrong(PackProblem::Wrong(Wrong::Chunks)));
        }
        let at = u32::try_from(self.at).map_err(|_| WriteProblem::NoRoom)?.to_le_bytes();
        let entry = TABLE + 4 * usize::from(self.begun);
        let table = self.bytes.get_mut(entry..entry + 4).ok_or(WriteProblem::NoRoom)?;
        table.copy_from_slice(&at);
        self.begun = self.begun.saturating_add(1);
        let too_many = WriteProblem::Wrong(PackProblem::InChunk(self.begun - 1, Wrong::Voices));
        let mut voices: Vec<u8, { 2 * crate::limits::VOICES }> = Vec::new();
        for voice in chunk.voices {
            voices.extend_from_slice(&voice.to_le_bytes()).map_err(|_| too_many)?;
        }
        let flag = |flag: u8, set: bool| if set { flag } else { 0 };
        let Rules { in_a_row, up_per_mille, down_per_mille, least_beats } = chunk.rules;
        self.put(&HeadWritten {
            name: chunk.name,
            goal: chunk.goal.micros_per_quarter(),
            metre: (chunk.metre.bar().get(), chunk.metre.beat().get()),
            rules: (in_a_row, up_per_mille, down_per_mille, least_beats),
            flags: flag(SPLITS, chunk.splits)
                | flag(VARIES, chunk.varies)
                | flag(JOINS_NEXT, chunk.joins_next),
            tolerances: tolerances::Written::of(&chunk.tolerances),
            voices: &voices,
            fingerings: chunk.fingerings,
        })
    }

    /// Begins a fingering; the one that is written has no name. `varied` are the other rhythms
    /// that follow.
    ///
    /// # Errors
    ///
    /// If there is no room.
    pub fn fingering(
        &mut self,
        name: &str,
        varied: impl Fn(PracticeVariant) -> bool,
    ) -> Result<(), WriteProblem> {
        let [long, short] = VARIED.map(|way| u8::from(varied(way)));
        self.put(&FingeringWritten { name, ways: long | short << 1 })
    }

    /// Writes a part.
    ///
    /// # Errors
    ///
    /// If there is no room.
    pub fn part(&mut self, part: &Part<'_>) -> Result<(), WriteProblem> {
        self.put(&PartWritten {
            first_bar: part.first_bar,
            into_first_bar: part.into_first_bar.get(),
            length: part.length.get(),
            notes: u16::try_from(part.notes.len()).unwrap_or(u16::MAX),
        })?;
        let length_at = self.at;
        self.plain(&[0; 2])?;
        let room = self.bytes.get_mut(self.at..).ok_or(WriteProblem::NoRoom)?;
        let (whole, mut room) = (room.len(), room);
        let mut before = Ticks::ZERO;
        for note in part.notes {
            room = note::write(note, before, room).ok_or(WriteProblem::NoRoom)?;
            before = note.onset;
        }
        let used = whole.saturating_sub(room.len());
        self.at = self.at.saturating_add(used);
        let length = u16::try_from(used).map_err(|_| WriteProblem::NoRoom)?.to_le_bytes();
        let place = self.bytes.get_mut(length_at..length_at + 2).ok_or(WriteProblem::NoRoom)?;
        place.copy_from_slice(&length);
        Ok(())
    }

    /// Ends the pack and opens it. What stands behind its end is left as it was.
    ///
    /// # Errors
    ///
    /// What is wrong with what was written.
    pub fn finish(self) -> Result<Pack<'b>, WriteProblem> {
        if self.begun != self.chunks {
            return Err(WriteProblem::Wrong(PackProblem::Wrong(Wrong::Chunks)));
        }
        let bytes = self.bytes.get_mut(..self.at).ok_or(WriteProblem::NoRoom)?;
        header::write(bytes).ok_or(WriteProblem::NoRoom)?;
        Pack::open(bytes).map_err(WriteProblem::Wrong)
    }

    fn plain(&mut self, bytes: &[u8]) -> Result<(), WriteProblem> {
        let end = self.at.saturating_add(bytes.len());
        self.bytes.get_mut(self.at..end).ok_or(WriteProblem::NoRoom)?.copy_from_slice(bytes);
        self.at = end;
        Ok(())
    }

    fn put<T: Serialize>(&mut self, value: &T) -> Result<(), WriteProblem> {
        let room = self.bytes.get_mut(self.at..).ok_or(WriteProblem::NoRoom)?;
        let used = postcard::to_slice(value, room).map_err(|_| WriteProblem::NoRoom)?.len();
        self.at = self.at.saturating_add(used);
        Ok(())
    }
}
