//! The music of an attempt: as a pack without any name, and as a list of notes.

use crate::study::{Fingering, Prepared};
use evenhand_core::limits;
use evenhand_core::pack::{ChunkParts, Pack, PackWriter, Part, WriteProblem};
use evenhand_core::practice::{Piece, PracticeVariant, Rules, Task};
use evenhand_core::study::{ExpectedNote, Place};
use evenhand_core::units::Ticks;
use serde::Serialize;

/// The longest pack of one chunk: each note takes some twenty bytes. Our default.
const LONGEST: usize = 64 * 1024;

/// A chunk as a pack without any name.
///
/// # Errors
///
/// If it does not fit one.
pub fn packed(chunk: &Prepared) -> Result<Vec<u8>, WriteProblem> {
    let mut bytes = vec![0; LONGEST.min(limits::PACK_BYTES)];
    let voices = chunk.notes.iter().map(|note| u16::from(note.voice)).max().unwrap_or(0);
    let voices: Vec<u16> = (0..=voices).collect();
    let mut writer = PackWriter::new(&mut bytes, 0, "", 1)?;
    writer.chunk(&ChunkParts {
        name: "",
        goal: chunk.tempo,
        metre: chunk.metre,
        rules: Rules::of(chunk.tolerances.level),
        tolerances: chunk.tolerances,
        splits: false,
        varies: false,
        joins_next: false,
        voices: &voices,
        fingerings: 0,
    })?;
    writer.fingering("", |_| false)?;
    writer.part(&Part {
        first_bar: chunk.first_bar,
        into_first_bar: chunk.into_first_bar,
        length: chunk.length,
        notes: &chunk.notes,
    })?;
    let length = writer.finish()?.bytes().len();
    bytes.truncate(length);
    Ok(bytes)
}

/// The chunk of a pack, at its tempo.
pub(super) fn prepared(bytes: &[u8]) -> Option<Prepared> {
    let pack = Pack::open(bytes).ok()?;
    let piece = Piece::Chunk(0);
    let tempo = pack.goal(piece)?;
    let task = Task { piece, way: PracticeVariant::AsWritten, tempo };
    let mut notes = Default::default();
    let chunk = pack.music(task, |_| 0, &mut notes).ok()?;
    let Place { bar, beat, into_beat } = chunk.place(Ticks::ZERO);
    let beats = chunk.metre().beat().get().checked_mul(u32::from(beat).checked_sub(1)?)?;
    Some(Prepared {
        name: "disputed".to_owned(),
        notes: chunk.notes().to_vec(),
        hand: vec![Fingering::default(); chunk.notes().len()],
        tempo,
        metre: chunk.metre(),
        first_bar: bar,
        into_first_bar: Ticks::new(beats).plus(into_beat),
        tolerances: *chunk.tolerances(),
        alternatives: Vec::new(),
        length: pack.facts(0)?.length,
        voices: Vec::new(),
    })
}

/// What is expected in a pack, for people.
pub(super) fn expected(bytes: &[u8]) -> Vec<ExpectedRecord> {
    let notes = prepared(bytes).map(|chunk| chunk.notes).unwrap_or_default();
    let record = |note: &ExpectedNote| ExpectedRecord {
        onset: note.onset.get(),
        lasts: note.duration.get(),
        pitch: note.pitch.number(),
        string: note.string.map(|string| string.number()),
    };
    notes.iter().map(record).collect()
}

/// An expected note, for people; the judge reads it out of the pack.
#[derive(Serialize)]
pub(super) struct ExpectedRecord {
    /// In ticks from the chunk's beginning; a quarter has 10,080.
    pub(super) onset: u32,
    pub(super) lasts: u32,
    pub(super) pitch: u8,
    pub(super) string: Option<u8>,
}
