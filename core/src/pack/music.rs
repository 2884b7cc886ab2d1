//! The music of a piece, put together from the parts of its chunks.
//!
//! Parts in one follow the rules by which the computer joins chunks: the landing of the left is
//! the beginning of the right, what rings beyond its part ends with it, of each tolerance the
//! more lenient holds, and voices of one name go on in each other.

use super::Pack;
use super::chunk::{ChunkHead, PartRead, Which};
use super::problem::Missing;
use crate::limits;
use crate::practice::{Piece, PracticeVariant, Side, Task};
use crate::study::{Chunk, ChunkError, Excerpt, ExpectedNote, Marks, accent_beats};
use crate::tolerance::Tolerances;
use crate::units::{Tempo, Ticks};
use heapless::Vec;

type Notes = Vec<ExpectedNote, { limits::EXPECTED_NOTES }>;

/// Voices of a line that are told apart: as many as a voice has numbers.
const LINE_VOICES: usize = 256;

/// The music of a task.
pub(super) fn build<'n>(
    pack: &Pack<'_>,
    task: Task,
    fingering: &dyn Fn(u8) -> u8,
    notes: &'n mut Notes,
) -> Result<Chunk<'n>, Missing> {
    notes.clear();
    let part = |chunk: u8, which| {
        let head = pack.head(chunk).ok_or(Missing::NoSuchPiece)?;
        let part = head.part(fingering(chunk), task.way, which).ok_or(Missing::NoSuchPiece)?;
        Ok((head, part))
    };
    let (first, last) = task.piece.span();
    let (whole, spot) = match task.piece {
        Piece::Spot(spot) => (spot.piece(), Some(spot)),
        piece => (piece, None),
    };
    let (begins, goes_on) = match whole {
        Piece::Chunk(_) | Piece::Join { .. } | Piece::Spot(_) => (Which::Whole, Which::Whole),
        Piece::Half(_, Side::First) => (Which::FirstHalf, Which::Whole),
        Piece::Half(_, Side::Second) => (Which::SecondHalf, Which::Whole),
        Piece::Seam(_) => (Which::SecondHalf, Which::FirstHalf),
    };
    if first > last || matches!(whole, Piece::Join { .. }) && first == last {
        return Err(Missing::NoSuchPiece);
    }
    let (head, begun) = part(first, begins)?;
    let mut line = Line::begin(&head, begun, notes)?;
    for chunk in first..last {
        if !head_joins(pack, chunk) {
            return Err(Missing::NoSuchPiece);
        }
        let (head, part) = part(chunk.saturating_add(1), goes_on)?;
        line.go_on(&head, part, notes)?;
    }
    if let Some(spot) = spot {
        let (from, to) = (spot.from.into(), spot.to.into());
        let excerpt = Excerpt::of_events(notes, from, to).ok_or(Missing::NoSuchPiece)?;
        line.cut(excerpt, notes);
    }
    if task.way == PracticeVariant::Accents {
        let into = begun.into_first_bar.plus(line.cut);
        accent_beats(notes, head.metre, into);
    }
    line.chunk(&head, begun, task.tempo, notes)
}

fn head_joins(pack: &Pack<'_>, chunk: u8) -> bool {
    pack.head(chunk).is_some_and(|head| head.facts().joins_next)
}

/// Parts in one, so far.
struct Line {
    length: Ticks,
    /// What has been cut off at its beginning.
    cut: Ticks,
    tolerances: Tolerances,
    /// The voices, in the order of their numbers.
    voices: Vec<u16, LINE_VOICES>,
}

impl Line {
    fn begin(head: &ChunkHead<'_>, part: PartRead<'_>, notes: &mut Notes) -> Result<Self, Missing> {
        let mut line = Self {
            length: part.length,
            cut: Ticks::ZERO,
            tolerances: head.tolerances,
            voices: Vec::new(),
        };
        line.know(head);
        for note in part.notes {
            put(note, notes)?;
        }
        Ok(line)
    }

    fn go_on(
        &mut self,
        head: &ChunkHead<'_>,
        part: PartRead<'_>,
        notes: &mut Notes,
    ) -> Result<(), Missing> {
        let end = self.length;
        notes.retain(|note| !note.marks.has(Marks::LANDING));
        for note in notes.iter_mut() {
            // What rings beyond its chunk does not reach into the next.
            note.duration = note.duration.min(end.since(note.onset));
        }
        self.know(head);
        for note in part.notes {
            let voice = self.voice(head, note.voice);
            put(ExpectedNote { onset: note.onset.plus(end), voice, ..note }, notes)?;
        }
        self.length = end.plus(part.length);
        self.tolerances = self.tolerances.lenient(&head.tolerances);
        Ok(())
    }

    /// Cuts a passage out of it.
    fn cut(&mut self, excerpt: Excerpt, notes: &mut Notes) {
        notes.retain_mut(|note| match excerpt.take(note) {
            Some(taken) => {
                *note = taken;
                true
            }
            None => false,
        });
        (self.length, self.cut) = (excerpt.length(self.length), excerpt.begins());
    }

    /// Takes up the voices of a chunk that are new.
    fn know(&mut self, head: &ChunkHead<'_>) {
        for voice in head.voices() {
            if !self.voices.contains(&voice) {
                // More voices than there are numbers keep their own.
                let _ = self.voices.push(voice);
            }
        }
    }

    /// The number in the line of a voice of a chunk.
    fn voice(&self, head: &ChunkHead<'_>, voice: u8) -> u8 {
        let name = head.voices().nth(usize::from(voice));
        let known = name.and_then(|name| self.voices.iter().position(|other| *other == name));
        known.and_then(|number| u8::try_from(number).ok()).unwrap_or(voice)
    }

    fn chunk<'n>(
        &self,
        head: &ChunkHead<'_>,
        begun: PartRead<'_>,
        tempo: Tempo,
        notes: &'n Notes,
    ) -> Result<Chunk<'n>, Missing> {
        let chunk = Chunk::new(notes, tempo).map_err(Missing::NotInOne)?;
        let into = begun.into_first_bar.plus(self.cut).get();
        let bar = head.metre.bar().get().max(1);
        let bars = u16::try_from(into / bar).unwrap_or(u16::MAX);
        let first_bar = begun.first_bar.saturating_add(bars);
        let placed = chunk.placed(head.metre, first_bar, Ticks::new(into % bar));
        Ok(placed.judged_by(self.tolerances))
    }
}

fn put(note: ExpectedNote, notes: &mut Notes) -> Result<(), Missing> {
    let more = limits::EXPECTED_NOTES.saturating_add(1);
    notes.push(note).map_err(|_| Missing::NotInOne(ChunkError::TooManyNotes(more)))
}

/// The ways for which a chunk has notes of its own.
pub(super) const VARIED: [PracticeVariant; 2] =
    [PracticeVariant::LongShort, PracticeVariant::ShortLong];
