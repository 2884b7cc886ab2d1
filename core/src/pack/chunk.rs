//! The chunks of a pack, as they stand in its bytes.

use super::header::{HEADER, number, short};
use super::note::Notes;
use super::problem::{PackProblem, Wrong};
use super::tolerances;
use crate::limits;
use crate::practice::{ChunkFacts, Earlier, PracticeVariant, Rules};
use crate::study::{ExpectedNote, InOrder, Metre};
use crate::tolerance::Tolerances;
use crate::units::{Tempo, Ticks};
use serde::{Deserialize, Serialize};

/// Where the table of chunks begins: after the hash of the study and the number of chunks.
pub(super) const TABLE: usize = HEADER + 10;

/// A chunk can be cut into halves.
pub(super) const SPLITS: u8 = 1;
/// A chunk can be played in another rhythm.
pub(super) const VARIES: u8 = 2;
/// The next chunk follows without a gap.
pub(super) const JOINS_NEXT: u8 = 4;

/// The first thing of a chunk.
#[derive(Clone, Copy, Serialize, Deserialize)]
pub(super) struct HeadWritten<'a> {
    pub(super) name: &'a str,
    /// Microseconds a quarter note.
    pub(super) goal: u32,
    /// Ticks of a bar and of a beat.
    pub(super) metre: (u32, u32),
    /// In a row, up, down, least.
    pub(super) rules: (u8, u16, u16, u8),
    pub(super) flags: u8,
    pub(super) tolerances: tolerances::Written,
    /// Two bytes a voice: the number of its name in the study.
    pub(super) voices: &'a [u8],
    pub(super) fingerings: u8,
}

/// What a fingering begins with.
#[derive(Clone, Copy, Serialize, Deserialize)]
pub(super) struct FingeringWritten<'a> {
    pub(super) name: &'a str,
    /// Which other rhythms follow: 1 long and short, 2 short and long.
    pub(super) ways: u8,
}

/// What a part begins with. The length of its notes follows in two bytes, then they.
#[derive(Clone, Copy, Serialize, Deserialize)]
pub(super) struct PartWritten {
    pub(super) first_bar: u16,
    pub(super) into_first_bar: u32,
    pub(super) length: u32,
    pub(super) notes: u16,
}

/// Which part of a chunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    Whole,
    FirstHalf,
    SecondHalf,
}

/// The head of a chunk, checked, and what comes after it.
#[derive(Clone, Copy)]
pub(super) struct ChunkHead<'a> {
    pub(super) name: &'a str,
    pub(super) goal: Tempo,
    pub(super) metre: Metre,
    pub(super) tolerances: Tolerances,
    rules: Rules,
    flags: u8,
    voices: &'a [u8],
    fingerings: u8,
    rest: &'a [u8],
}

/// A fingering, and its parts.
#[derive(Clone, Copy)]
pub(super) struct FingeringHead<'a> {
    pub(super) name: &'a str,
    ways: u8,
    parts: &'a [u8],
}

/// A part with its notes.
#[derive(Clone, Copy)]
pub(super) struct PartRead<'a> {
    pub(super) first_bar: u16,
    pub(super) into_first_bar: Ticks,
    pub(super) length: Ticks,
    pub(super) notes: Notes<'a>,
}

/// The hash of the study and the number of chunks.
pub(super) fn counted(bytes: &[u8]) -> Result<(u64, u16), PackProblem> {
    let short_of = PackProblem::Wrong(Wrong::Place);
    let (hash, _) = bytes.get(HEADER..).unwrap_or_default().split_first_chunk().ok_or(short_of)?;
    let chunks = short(bytes, HEADER + 8).ok_or(short_of)?;
    Ok((u64::from_le_bytes(*hash), chunks))
}

/// The title, and where it ends.
pub(super) fn title(bytes: &[u8], chunks: u8) -> Result<(&str, usize), PackProblem> {
    let at = TABLE + 4 * usize::from(chunks);
    let from = bytes.get(at..).ok_or(PackProblem::Wrong(Wrong::Place))?;
    let title = postcard::take_from_bytes::<&str>(from).ok();
    let title = title.filter(|(title, _)| title.len() <= limits::NAME_BYTES);
    let (title, rest) = title.ok_or(PackProblem::Wrong(Wrong::Name))?;
    Ok((title, bytes.len().saturating_sub(rest.len())))
}

/// Where a chunk begins, as the table says.
pub(super) fn offset(bytes: &[u8], chunk: u8) -> Option<usize> {
    number(bytes, TABLE + 4 * usize::from(chunk)).map(|at| at as usize)
}

/// Checks a whole chunk, and gives where it ends.
pub(super) fn check(bytes: &[u8], at: usize, index: u8, chunks: u8) -> Result<usize, PackProblem> {
    let wrong = |wrong| PackProblem::InChunk(index, wrong);
    let head = ChunkHead::read(bytes, at).map_err(wrong)?.0;
    let mut rest = head.rest;
    for fingering in 0..=head.fingerings {
        let (own, after) = FingeringHead::read(rest).ok_or(wrong(Wrong::Place))?;
        if own.name.len() > limits::NAME_BYTES {
            return Err(wrong(Wrong::Name));
        }
        if own.ways & !0b11 != 0 || fingering == 0 && head.has(VARIES) && own.ways != 0b11 {
            return Err(wrong(Wrong::ChunkFacts));
        }
        rest = after;
        for part in 0..head.parts_of(own.ways) {
            let (read, after) = PartRead::read(rest).ok_or(wrong(Wrong::Place))?;
            let half = part % head.parts_a_way() != 0;
            read.check(head.metre, half).map_err(wrong)?;
            rest = after;
        }
    }
    if head.has(JOINS_NEXT) && index.saturating_add(1) >= chunks {
        return Err(wrong(Wrong::ChunkFacts));
    }
    Ok(bytes.len().saturating_sub(rest.len()))
}

impl<'a> ChunkHead<'a> {
    /// Reads the head that stands at `at`.
    pub(super) fn read(bytes: &'a [u8], at: usize) -> Result<(Self, usize), Wrong> {
        let from = bytes.get(at..).ok_or(Wrong::Place)?;
        let (head, rest) =
            postcard::take_from_bytes::<HeadWritten<'_>>(from).map_err(|_| Wrong::Place)?;
        if head.name.len() > limits::NAME_BYTES {
            return Err(Wrong::Name);
        }
        if head.fingerings > limits::FINGERINGS {
            return Err(Wrong::Fingerings);
        }
        if !head.voices.len().is_multiple_of(2) || head.voices.len() > 2 * limits::VOICES {
            return Err(Wrong::Voices);
        }
        let (bar, beat) = head.metre;
        let metre = Metre::of(Ticks::new(bar), Ticks::new(beat)).ok_or(Wrong::Setting)?;
        let goal = Tempo::from_micros_per_quarter(head.goal).ok_or(Wrong::Setting)?;
        let tolerances = head.tolerances.tolerances().ok_or(Wrong::Setting)?;
        if head.flags & !(SPLITS | VARIES | JOINS_NEXT) != 0 {
            return Err(Wrong::ChunkFacts);
        }
        let (in_a_row, up_per_mille, down_per_mille, least_beats) = head.rules;
        let read = Self {
            name: head.name,
            goal,
            metre,
            tolerances,
            rules: Rules { in_a_row, up_per_mille, down_per_mille, least_beats },
            flags: head.flags,
            voices: head.voices,
            fingerings: head.fingerings,
            rest,
        };
        Ok((read, bytes.len().saturating_sub(rest.len())))
    }

    const fn has(&self, flag: u8) -> bool {
        self.flags & flag != 0
    }

    /// Parts of a way: the whole, and its halves if there are any.
    const fn parts_a_way(&self) -> u8 {
        if self.has(SPLITS) { 3 } else { 1 }
    }

    const fn parts_of(&self, ways: u8) -> u8 {
        (ways.count_ones() as u8).saturating_add(1).saturating_mul(self.parts_a_way())
    }

    /// What practice has to know.
    pub(super) fn facts(&self) -> ChunkFacts {
        let whole = self.part(0, PracticeVariant::AsWritten, Which::Whole);
        let (mut notes, mut length) = (0_u16, Ticks::ZERO);
        if let Some(part) = whole {
            length = part.length;
            for note in part.notes {
                notes = notes.saturating_add(1);
                length = length.max(note.onset.plus(note.duration));
            }
        }
        ChunkFacts {
            goal: self.goal,
            beat: self.metre.beat(),
            rules: self.rules,
            fastest_clean: None,
            earlier: Earlier::Unknown,
            notes,
            length,
            splits: self.has(SPLITS),
            varies: self.has(VARIES),
            joins_next: self.has(JOINS_NEXT),
            fingerings: self.fingerings,
        }
    }

    /// The names of its voices, as numbers of the study, in the order of its voices.
    pub(super) fn voices(&self) -> impl Iterator<Item = u16> + 'a {
        self.voices.as_chunks().0.iter().map(|two| u16::from_le_bytes(*two))
    }

    /// A fingering: 0 is the one that is written.
    pub(super) fn fingering(&self, fingering: u8) -> Option<FingeringHead<'a>> {
        if fingering > self.fingerings {
            return None;
        }
        let mut rest = self.rest;
        for _ in 0..fingering {
            let (own, after) = FingeringHead::read(rest)?;
            rest = after;
            for _ in 0..self.parts_of(own.ways) {
                rest = PartRead::read(rest)?.1;
            }
        }
        FingeringHead::read(rest).map(|(own, _)| own)
    }

    /// A part. What cannot be played in another rhythm is as it is written; a fingering that
    /// there is not is the one that is written.
    pub(super) fn part(
        &self,
        fingering: u8,
        way: PracticeVariant,
        which: Which,
    ) -> Option<PartRead<'a>> {
        let fingering = self.fingering(fingering).or_else(|| self.fingering(0))?;
        let before = match (way, fingering.ways) {
            (PracticeVariant::LongShort, 1 | 3) | (PracticeVariant::ShortLong, 2) => 1,
            (PracticeVariant::ShortLong, 3) => 2,
            _ => 0,
        };
        let within = match which {
            Which::Whole => 0,
            _ if !self.has(SPLITS) => return None,
            Which::FirstHalf => 1,
            Which::SecondHalf => 2,
        };
        let mut rest = fingering.parts;
        for _ in 0..self.parts_a_way().saturating_mul(before).saturating_add(within) {
            rest = PartRead::read(rest)?.1;
        }
        let (part, _) = PartRead::read(rest)?;
        part.notes.has_more().then_some(part)
    }
}

impl<'a> FingeringHead<'a> {
    fn read(bytes: &'a [u8]) -> Option<(Self, &'a [u8])> {
        let (own, parts) = postcard::take_from_bytes::<FingeringWritten<'_>>(bytes).ok()?;
        Some((Self { name: own.name, ways: own.ways, parts }, parts))
    }
}

impl<'a> PartRead<'a> {
    fn read(bytes: &'a [u8]) -> Option<(Self, &'a [u8])> {
        let (head, rest) = postcard::take_from_bytes::<PartWritten>(bytes).ok()?;
        let (length, rest) = rest.split_first_chunk()?;
        let (notes, rest) = rest.split_at_checked(usize::from(u16::from_le_bytes(*length)))?;
        let part = Self {
            first_bar: head.first_bar,
            into_first_bar: Ticks::new(head.into_first_bar),
            length: Ticks::new(head.length),
            notes: Notes::new(head.notes, notes),
        };
        Some((part, rest))
    }

    /// Checks that its notes can be judged. A half may be empty, where the halves of a chunk
    /// cannot be judged in this rhythm or fingering.
    fn check(&self, metre: Metre, half: bool) -> Result<(), Wrong> {
        let most = limits::CHUNK_QUARTERS * Ticks::PER_QUARTER;
        if self.into_first_bar >= metre.bar() || self.length.get() > most {
            return Err(Wrong::Setting);
        }
        if !half && !self.notes.has_more() {
            return Err(Wrong::Music(crate::study::ChunkError::Empty));
        }
        let mut order = InOrder::NEW;
        let mut notes = self.notes;
        while notes.has_more() {
            let note: ExpectedNote = notes.next().ok_or(Wrong::Note)?;
            order.take(&note).map_err(Wrong::Music)?;
        }
        if notes.is_done() { Ok(()) } else { Err(Wrong::Place) }
    }
}
