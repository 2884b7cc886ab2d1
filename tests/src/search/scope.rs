//! The search itself: which cases are tried, and what came of each.

use evenhand_core::pickup::Pickup;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::verdict::Outcome;

use super::case::Case;
use super::extent::Extent;
use super::lapse::Lapse;
use super::path::{Command, Path};
use super::said::Said;
use super::stream::{Attempts, Stream};
use super::studies::{Study, studies};
use crate::seeds;
use rayon::prelude::*;

/// How much is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scope {
    /// From which all seeds follow.
    pub base: u64,
    /// Performances of each size of each lapse, on each path.
    pub each: u32,
    /// Clean performances on each path.
    pub clean: u32,
}

impl Scope {
    /// For every change: some seconds.
    pub const SAMPLE: Self = Self { base: 0, each: 60, clean: 600 };

    /// The whole: 130,000 clear faults, and 10,000 clean performances.
    pub const WHOLE: Self = Self { base: 0, each: 400, clean: 2_500 };

    /// What the environment asks for.
    pub fn asked() -> Self {
        Self { base: seeds::base(), ..if seeds::all() { Self::WHOLE } else { Self::SAMPLE } }
    }
}

/// A case that was tried, and what came of it.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Through which path.
    pub path: Path,
    /// The case.
    pub case: Case,
    /// What was said.
    pub said: Said,
}

impl Tried {
    /// Whether it is a clear fault that passed.
    pub fn is_false_pass(&self) -> bool {
        self.case.lapse.is_some()
            && self.case.extent.is_clear()
            && self.said.outcome == Some(Outcome::Passed)
    }
}

/// Tries every case of the scope, with a pickup of which nothing is known.
pub fn search(scope: Scope) -> Vec<Tried> {
    search_behind(&Pickup::UNKNOWN, scope)
}

/// Tries every case of the scope, with a pickup of which so much is known.
pub fn search_behind(known: &Pickup, scope: Scope) -> Vec<Tried> {
    let studies = studies();
    let mut jobs: Vec<(Path, Option<Lapse>, u64)> = Vec::new();
    for (place, path) in Path::ALL.into_iter().enumerate() {
        let base = scope.base.wrapping_mul(Path::ALL.len() as u64) + place as u64;
        for (index, lapse) in Lapse::ALL.into_iter().enumerate() {
            let seeds = (0..scope.each).map(|n| seed(base, index as u64 + 1, n));
            jobs.extend(seeds.map(|seed| (path, Some(lapse), seed)));
        }
        jobs.extend((0..scope.clean).map(|n| (path, None, seed(base, 0, n))));
    }
    // A vector for each job: what comes out is in the order of the jobs, whoever was done first.
    let done =
        jobs.into_par_iter().map(|(path, lapse, seed)| tried(&studies, known, path, lapse, seed));
    done.collect::<Vec<_>>().into_iter().flatten().collect()
}

/// The seed of a case.
pub const fn seed(base: u64, lapse: u64, number: u32) -> u64 {
    // Far enough apart that generators that count do not run into each other.
    base.wrapping_mul(0x9e37_79b9_7f4a_7c15)
        ^ (lapse << 32)
        ^ (number as u64).wrapping_mul(0x1_0001)
}

/// All sizes of one seed.
fn tried(
    studies: &[Study],
    known: &Pickup,
    path: Path,
    lapse: Option<Lapse>,
    seed: u64,
) -> Vec<Tried> {
    let extents = lapse.map_or(&[Extent::Whole][..], Lapse::extents);
    let cases = extents.iter().filter_map(|&extent| Case::new(studies, lapse, extent, seed));
    cases
        .map(|case| {
            let said = said_behind(known, studies, path, &case);
            Tried { path, case, said }
        })
        .collect()
}

/// How the stream of a case is made for a path.
pub fn stream(studies: &[Study], path: Path, case: &Case) -> Stream {
    let attempts = match (case.lapse, path.command) {
        (None, _) if !is_long(studies, case) => Attempts::Three,
        (_, Command::Listen) => Attempts::Few,
        (_, Command::Judge) => Attempts::One,
    };
    Stream::of(case, studies, path.lateness, attempts)
}

/// What is said of a case, with a pickup of which nothing is known.
pub fn said(studies: &[Study], path: Path, case: &Case) -> Said {
    said_behind(&Pickup::UNKNOWN, studies, path, case)
}

fn said_behind(known: &Pickup, studies: &[Study], path: Path, case: &Case) -> Said {
    let mut chunks = studies[case.study].chunks.clone();
    for chunk in &mut chunks {
        chunk.tolerances = case.tolerances();
    }
    let stream = stream(studies, path, case);
    let reasons = case.lapse.map_or(&[][..], Lapse::reasons);
    let mut said = Said::default();
    path.hear_behind(known, &chunks, &stream, |finished| said.hear(finished, &stream, reasons));
    said
}

/// Whether one clean attempt alone has enough in it to be told clean: eight timed events, or
/// sixteen where it is asked most.
fn is_long(studies: &[Study], case: &Case) -> bool {
    let least = if case.level == PracticeLevel::Performance { 16 } else { 8 };
    case.piece(studies).timed() >= least
}
