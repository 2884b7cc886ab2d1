//! Verdicts, counted.

use evenhand_core::verdict::{Bearing, Kind, Outcome, Verdict};

/// What was said of a number of attempts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// How many attempts.
    pub attempts: u32,
    /// How many passed.
    pub passed: u32,
    /// How many need work.
    pub needs_work: u32,
    /// How many are unclear.
    pub unclear: u32,
    /// How many have the right reason first.
    pub first: u32,
    /// How many have the right reason among their findings.
    pub among: u32,
    /// How many did not pass and have the right reason among their findings.
    pub caught: u32,
    /// How many need work, and the right reason is one that fails.
    pub failed_rightly: u32,
    /// How many have the right reason among their findings as advice, and do not need work.
    pub advised: u32,
}

impl Tally {
    /// Counts a verdict that should have been for this reason.
    pub fn add(&mut self, verdict: &Verdict, reason: Kind) {
        self.attempts += 1;
        match verdict.outcome {
            Outcome::Passed => self.passed += 1,
            Outcome::NeedsWork => self.needs_work += 1,
            Outcome::Unclear => self.unclear += 1,
        }
        self.first += u32::from(verdict.findings.first().is_some_and(|f| f.kind == reason));
        if let Some(finding) = verdict.finding(reason) {
            self.among += 1;
            self.caught += u32::from(verdict.outcome != Outcome::Passed);
            self.failed_rightly += u32::from(finding.bearing == Bearing::Fails);
            let is_advice = finding.bearing == Bearing::Advice;
            self.advised += u32::from(is_advice && verdict.outcome != Outcome::NeedsWork);
        }
    }

    /// Adds what another one counted.
    pub fn join(&mut self, other: &Self) {
        self.attempts += other.attempts;
        self.passed += other.passed;
        self.needs_work += other.needs_work;
        self.unclear += other.unclear;
        self.first += other.first;
        self.among += other.among;
        self.caught += other.caught;
        self.failed_rightly += other.failed_rightly;
        self.advised += other.advised;
    }

    /// A count as a share of the attempts.
    pub fn share(&self, count: u32) -> f64 {
        f64::from(count) / f64::from(self.attempts.max(1))
    }

    /// Three standard deviations of a share that is truly `share`, by the binomial
    /// distribution: what the share of so few attempts may be off by chance.
    pub fn margin(&self, share: f64) -> f64 {
        3.0 * (share * (1.0 - share) / f64::from(self.attempts.max(1))).sqrt()
    }
}
