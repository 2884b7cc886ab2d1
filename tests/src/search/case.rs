//! One case: who plays what, where and how, and what goes wrong. All of it follows from a seed.

use evenhand::study::Prepared;
use evenhand_core::study::Marks;
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{Offset, Tempo};

use super::extent::{CLEAR, Extent};
use super::lapse::Lapse;
use super::lay::{Laid, lay, lost_at_seam, skill};
use super::studies::Study;
use crate::lab::piece::Piece;
use crate::seeded::Seeded;

/// A case.
#[derive(Clone, Debug)]
pub struct Case {
    /// The number of the study.
    pub study: usize,
    /// The number of the chunk in it.
    pub chunk: usize,
    /// How strictly it is judged.
    pub level: PracticeLevel,
    /// What goes wrong; none if nothing does.
    pub lapse: Option<Lapse>,
    /// How large it is.
    pub extent: Extent,
    /// The tempo that is played.
    pub tempo: Tempo,
    /// The seed of all chance in it, the same for all sizes.
    pub seed: u64,
}

/// Levels that a lapse is tried at.
const LEVELS: [(PracticeLevel, u32); 3] =
    [(PracticeLevel::First, 1), (PracticeLevel::Steady, 2), (PracticeLevel::Performance, 1)];

/// Tries to find a chunk with a place.
const TRIES: u32 = 400;

impl Case {
    /// The case of a seed. None if no chunk has a place for so large a lapse.
    pub fn new(studies: &[Study], lapse: Option<Lapse>, extent: Extent, seed: u64) -> Option<Self> {
        let mut seeded = Seeded::new(seed);
        for _ in 0..TRIES {
            let mut level = seeded.weighted(&LEVELS);
            if level == PracticeLevel::First && lapse.is_some_and(Lapse::is_slip) {
                level = PracticeLevel::Steady;
            }
            let study = seeded.index(studies.len());
            let chunk = seeded.index(studies[study].chunks.len());
            let tempo = tempo(&studies[study].chunks[chunk], &mut seeded);
            let case = Self { study, chunk, level, lapse, extent, tempo, seed };
            if lapse == Some(Lapse::SeamStop) && !goes_on(&studies[study].chunks, chunk) {
                continue;
            }
            // The place must be there for every size, or sizes would be tried on other music.
            let Some(lapse) = lapse else { return Some(case) };
            let piece = case.piece(studies);
            let fits = |extent: &Extent| case.laid(&piece, lapse, *extent).is_some();
            if lapse.extents().iter().filter(|extent| needed(**extent)).all(fits) {
                return case.laid(&piece, lapse, extent).is_some().then_some(case);
            }
        }
        None
    }

    /// The chunk as it is played.
    pub fn prepared<'a>(&self, studies: &'a [Study]) -> &'a Prepared {
        &studies[self.study].chunks[self.chunk]
    }

    /// What the level allows.
    pub const fn tolerances(&self) -> Tolerances {
        Tolerances::of(self.level)
    }

    /// The music at the tempo that is played.
    pub fn piece(&self, studies: &[Study]) -> Piece {
        let prepared = self.prepared(studies);
        Piece {
            name: prepared.name.clone(),
            notes: prepared.notes.clone(),
            tempo: self.tempo,
            metre: prepared.metre,
        }
    }

    /// How the attempt with the lapse is played.
    pub(super) fn faulty(&self, studies: &[Study]) -> Laid {
        match self.lapse {
            None => self.clean(),
            Some(lapse) => self
                .laid(&self.piece(studies), lapse, self.extent)
                .expect("it had a place when the case was made"),
        }
    }

    /// What goes wrong, as the simulated player takes it.
    pub fn faults(&self, studies: &[Study]) -> Vec<evenhand_core::player::Fault> {
        self.faulty(studies).faults
    }

    /// How the other attempts are played.
    pub(super) fn clean(&self) -> Laid {
        Laid { skill: skill(self.lapse, &self.tolerances()), faults: Vec::new() }
    }

    /// Where the case is about the seam to the next chunk: that chunk, and the time lost before it.
    pub(super) fn goes_on<'a>(&self, studies: &'a [Study]) -> Option<(&'a Prepared, Offset)> {
        if self.lapse != Some(Lapse::SeamStop) {
            return None;
        }
        let lost = lost_at_seam(self.extent, &self.piece(studies), &self.tolerances());
        Some((studies[self.study].chunks.get(self.chunk + 1)?, lost))
    }

    fn laid(&self, piece: &Piece, lapse: Lapse, extent: Extent) -> Option<Laid> {
        lay(lapse, extent, piece, &self.tolerances(), &mut Seeded::new(!self.seed))
    }
}

/// Whether a chunk lands on the first notes of the next one, in its place and at its tempo.
fn goes_on(chunks: &[Prepared], chunk: usize) -> bool {
    let this = &chunks[chunk];
    let Some(next) = chunks.get(chunk + 1) else { return false };
    let first = next.notes.first().map(|note| note.onset);
    let begins = next.notes.iter().filter(|note| Some(note.onset) == first);
    let begins: Vec<_> = begins.map(|note| (note.onset, note.pitch)).collect();
    let lands = this.notes.iter().filter(|note| note.marks.has(Marks::LANDING));
    let lands: Vec<_> = lands.map(|note| (note.onset.since(this.length), note.pitch)).collect();
    lands == begins && this.metre == next.metre && this.tempo == next.tempo
}

/// Sizes that a place must have room for. What is more than three times what is allowed is tried
/// where it fits.
const fn needed(extent: Extent) -> bool {
    !matches!(extent, Extent::Times(times) if times > CLEAR)
}

/// At the tempo of the study, or somewhat slower; by ear, so never exactly.
fn tempo(chunk: &Prepared, seeded: &mut Seeded) -> Tempo {
    let slower =
        if seeded.chance(0.5) { seeded.between(-20, 20) } else { seeded.between(-50, 400) };
    let practised = i64::from(chunk.tempo.micros_per_quarter());
    let micros = practised + practised * slower / 1_000;
    Tempo::from_micros_per_quarter(micros as u32).expect("a tempo")
}
