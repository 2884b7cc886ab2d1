//! What tests of the memory have in common: a flash, packs and results.
// Each test file is a program of its own, and none uses everything.
#![allow(dead_code)]

use evenhand_core::limits::RESULT_BYTES;
use evenhand_core::link::{PackId, Store};
use evenhand_core::pack::{ChunkParts, Pack, PackWriter, Part, ResultRecord};
use evenhand_core::practice::{Piece, PracticeVariant, Rules};
use evenhand_core::study::{ExpectedNote, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{Pitch, Seconds, Tempo, Ticks};
use evenhand_core::verdict::Outcome;
use evenhand_pedal::memory::{Identity, Memory};
use evenhand_pedal::ram_flash::RamFlash;

pub(crate) const SECTOR: usize = 4_096;
pub(crate) const FOR_RESULTS: usize = 4;
pub(crate) const SIZE: usize = 16 * SECTOR;
pub(crate) const IDENTITY: Identity = Identity { board: "none", device: 7, chance: 99 };
const LEVEL: PracticeLevel = PracticeLevel::First;
pub(crate) const QUARTER: Ticks = Ticks::new(Ticks::PER_QUARTER);

pub(crate) fn open(bytes: &mut [u8]) -> Memory<RamFlash<'_>> {
    Memory::open(RamFlash::new(bytes), FOR_RESULTS, IDENTITY)
}

pub(crate) fn beats(beats: u32) -> Tempo {
    Tempo::from_beats_per_minute(beats, QUARTER).unwrap()
}

pub(crate) fn record(memory: &Memory<RamFlash<'_>>) -> ResultRecord {
    ResultRecord {
        number: memory.next(),
        sitting: memory.sitting(),
        attempt: 1,
        began: Seconds::new(3),
        clock: None,
        study: memory.study_hash(),
        piece: Piece::Chunk(0),
        way: PracticeVariant::AsWritten,
        fingering: 0,
        beat: QUARTER,
        asked: beats(60),
        heard: None,
        level: LEVEL,
        outcome: Outcome::Passed,
        together: 1,
        findings: Default::default(),
        false_starts: 0,
        interrupted: false,
    }
}

/// Keeps a result. Whether it went well.
pub(crate) fn keep(memory: &mut Memory<RamFlash<'_>>) -> bool {
    let mut room = [0; RESULT_BYTES];
    let length = record(memory).encode(&[], &mut room).unwrap();
    memory.keep_result(&room[..length]).is_ok()
}

/// A study of so many chunks of eight notes.
pub(crate) fn pack(study: u64, title: &str, chunks: u8) -> Vec<u8> {
    let mut bytes = vec![0; 20_000];
    let mut writer = PackWriter::new(&mut bytes, study, title, chunks).unwrap();
    let note = |n| {
        let onset = Ticks::new(n * Ticks::PER_QUARTER);
        ExpectedNote::plain(onset, QUARTER, Pitch::new(60 + n as u8).unwrap())
    };
    let notes: Vec<ExpectedNote> = (0..8).map(note).collect();
    for _ in 0..chunks {
        let chunk = ChunkParts {
            name: "Eight steps",
            goal: beats(100),
            metre: Metre::FOUR_FOUR,
            rules: Rules::of(LEVEL),
            tolerances: Tolerances::of(LEVEL),
            splits: false,
            varies: false,
            joins_next: false,
            voices: &[0],
            fingerings: 0,
        };
        writer.chunk(&chunk).unwrap();
        writer.fingering("", |_| false).unwrap();
        let length = Ticks::new(8 * Ticks::PER_QUARTER);
        let part = Part { first_bar: 1, into_first_bar: Ticks::ZERO, length, notes: &notes };
        writer.part(&part).unwrap();
    }
    writer.finish().unwrap().bytes().to_vec()
}

fn identity(bytes: &[u8]) -> PackId {
    let pack = Pack::open(bytes).unwrap();
    PackId { study: pack.study(), length: bytes.len() as u32, checksum: pack.checksum() }
}

/// Puts a pack in as the link does. Whether it went well.
pub(crate) fn put_in(memory: &mut Memory<RamFlash<'_>>, pack: &[u8]) -> bool {
    memory.begin(identity(pack)).is_ok()
        && pack.chunks(256).all(|piece| memory.put(piece).is_ok())
        && memory.received() == pack
        && memory.keep().is_ok()
}
