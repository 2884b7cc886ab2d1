//! What is told, counted by what was played and how it was heard.

use std::collections::{BTreeMap, BTreeSet};

use evenhand_core::verdict::Outcome;
use rayon::prelude::*;

use super::causes::Cause;
use super::session::{Quality, Session};
use super::slip::Slip;
use super::stream::{Source, stream};
use super::told::{Told, told};

/// The takes that are looked at in a session.
pub const TAKES: usize = 4;

/// A cell of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cell {
    /// Through what it was heard.
    pub source: Source,
    /// The converter's setting; none where it has no say.
    pub quality: Option<Quality>,
    /// Whether all strings share a channel.
    pub one_channel: bool,
    /// Whether it is a single take, in which nothing recurs.
    pub single: bool,
    /// What went wrong.
    pub slip: Slip,
}

/// What came of the sessions of a cell.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Sessions.
    pub sessions: u32,
    /// Takes.
    pub takes: u32,
    /// Takes that need work.
    pub needs_work: u32,
    /// Takes that passed.
    pub passed: u32,
    /// Takes that are unclear.
    pub unclear: u32,
    /// Takes of which more than one attempt came out.
    pub split: u32,
    /// Sessions of which a take passed, by take.
    pub passed_by: [u32; TAKES],
    /// Sessions of which a slip was told at its place, by take.
    pub at_place_by: [u32; TAKES],
    /// The same, told as what it is.
    pub of_kind_by: [u32; TAKES],
    /// Sessions of which a slip was told anywhere, by take.
    pub any_by: [u32; TAKES],
    /// Sessions in which the pickup was named.
    pub pickup: u32,
    /// Sessions in which it was named although a take passed.
    pub pickup_and_passed: u32,
    /// What failed each take that failed.
    pub causes: Vec<Vec<Cause>>,
}

/// Tallies by cell.
pub type Tallies = BTreeMap<Cell, Tally>;

/// Plays every session through the converter, and once without errors.
pub fn tallies(sessions: &[Session]) -> Tallies {
    let all: Vec<(Cell, &Session)> = cells(sessions);
    let heard: Vec<Vec<Told>> =
        all.par_iter().map(|(cell, session)| told(session, cell.source)).collect();
    let mut tallies = Tallies::new();
    for ((cell, _), told) in all.iter().zip(&heard) {
        tallies.entry(*cell).or_default().add(told);
    }
    tallies
}

/// What is heard: what was played is the same for every setting of the converter, and is heard once.
fn cells(sessions: &[Session]) -> Vec<(Cell, &Session)> {
    let mut known = BTreeSet::new();
    let mut all = Vec::new();
    for session in sessions {
        let Session { quality, one_channel, slip, .. } = *session;
        let single = session.takes.len() < TAKES;
        let cell = |source, quality| Cell { source, quality, one_channel, single, slip };
        all.push((cell(Source::Converter, Some(quality)), session));
        if known.insert((session.places.clone(), stream(session, Source::Ideal).messages)) {
            all.push((cell(Source::Ideal, None), session));
        }
    }
    all
}

impl Tally {
    fn add(&mut self, told: &[Told]) {
        self.sessions += 1;
        for take in told {
            self.takes += 1;
            match take.outcome {
                Some(Outcome::NeedsWork) => self.needs_work += 1,
                Some(Outcome::Passed) => self.passed += 1,
                Some(Outcome::Unclear) => self.unclear += 1,
                None => {}
            }
            self.split += u32::from(take.attempts > 1);
            if take.outcome == Some(Outcome::NeedsWork) {
                self.causes.push(take.causes.clone());
            }
        }
        let is_named = told.iter().any(|take| take.pickup);
        let has_passed = told.iter().any(|take| take.outcome == Some(Outcome::Passed));
        self.pickup += u32::from(is_named);
        self.pickup_and_passed += u32::from(is_named && has_passed);
        count(&mut self.passed_by, told, |take| take.outcome == Some(Outcome::Passed));
        count(&mut self.at_place_by, told, |take| take.at_place);
        count(&mut self.of_kind_by, told, |take| take.of_kind);
        count(&mut self.any_by, told, |take| take.any_slip);
    }

    /// Takes of which no attempt came out.
    pub const fn no_attempt(&self) -> u32 {
        self.takes - self.needs_work - self.passed - self.unclear
    }

    /// Takes both in as one.
    #[must_use]
    pub fn with(mut self, other: &Self) -> Self {
        self.sessions += other.sessions;
        self.takes += other.takes;
        self.needs_work += other.needs_work;
        self.passed += other.passed;
        self.unclear += other.unclear;
        self.split += other.split;
        self.pickup += other.pickup;
        self.pickup_and_passed += other.pickup_and_passed;
        for (to, from) in [
            (&mut self.passed_by, &other.passed_by),
            (&mut self.at_place_by, &other.at_place_by),
            (&mut self.of_kind_by, &other.of_kind_by),
            (&mut self.any_by, &other.any_by),
        ] {
            to.iter_mut().zip(from).for_each(|(to, from)| *to += from);
        }
        self.causes.extend(other.causes.iter().cloned());
        self
    }
}

/// Counts the session for each number of takes within which it is so.
fn count(by: &mut [u32; TAKES], told: &[Told], is_so: impl Fn(&Told) -> bool) {
    if let Some(first) = told.iter().position(is_so) {
        by.iter_mut().skip(first).for_each(|count| *count += 1);
    }
}
