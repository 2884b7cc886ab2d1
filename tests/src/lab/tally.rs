//! What was said of attempts with a trouble, counted.

use evenhand_core::verdict::{Outcome, Severity};

use super::live::Heard;
use super::trouble::Trouble;

/// Counts of a cell, over players who tried several times each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// How many players.
    pub players: u32,
    /// Of the attempt that counts (the first, where it can carry a verdict): passed,
    pub passed: u32,
    /// needs work,
    pub needs_work: u32,
    /// unclear, or nothing was said.
    pub unclear: u32,
    /// The last attempt passed, taken together with those before it,
    pub passed_in_the_end: u32,
    /// or needs work.
    pub needs_work_in_the_end: u32,
    /// The right reason is among the findings of the first attempt that needs work, of the last
    /// one if none does,
    pub told: u32,
    /// and stands first there.
    pub first: u32,
    /// All findings that are no advice,
    pub findings: u32,
    /// and those of them that fail and name a fault which was not played.
    pub other: u32,
}

impl Tally {
    /// Counts a player with this trouble; number `counts` is the attempt that counts.
    pub fn add(&mut self, heard: &[Heard], counts: usize, trouble: Option<Trouble>) {
        self.players += 1;
        match heard.get(counts).and_then(|heard| heard.outcome) {
            Some(Outcome::Passed) => self.passed += 1,
            Some(Outcome::NeedsWork) => self.needs_work += 1,
            Some(Outcome::Unclear) | None => self.unclear += 1,
        }
        let needs_work = |heard: &&Heard| heard.outcome == Some(Outcome::NeedsWork);
        let Some(last) = heard.last() else { return };
        self.passed_in_the_end += u32::from(last.outcome == Some(Outcome::Passed));
        self.needs_work_in_the_end += u32::from(needs_work(&last));
        let settled = heard.iter().find(needs_work).unwrap_or(last);
        if let Some(trouble) = trouble {
            let reason = trouble.reason();
            self.told += u32::from(settled.findings.iter().any(|f| f.kind == reason));
            self.first += u32::from(settled.findings.first().is_some_and(|f| f.kind == reason));
        }
        let named = |kind| trouble.is_some_and(|trouble| trouble.shows_as().contains(&kind));
        for finding in heard.iter().flat_map(|heard| &heard.findings) {
            self.findings += u32::from(finding.severity != Severity::Advice);
            let fails = finding.severity == Severity::Fails;
            self.other += u32::from(fails && !named(finding.kind));
        }
    }
}

/// A count as a share.
pub fn share(count: u32, of: u32) -> f64 {
    f64::from(count) / f64::from(of.max(1))
}
