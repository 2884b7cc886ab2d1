//! What was said, counted.

use evenhand_core::verdict::Outcome;

use super::said::Said;

/// Counts of a cell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Performances.
    pub tried: u32,
    /// Passed.
    pub passed: u32,
    /// Need work.
    pub needs_work: u32,
    /// Unclear.
    pub unclear: u32,
    /// Nothing was said.
    pub nothing: u32,
    /// A right reason among the findings.
    pub among: u32,
    /// A right reason first.
    pub first: u32,
    /// A finding that fails names another fault.
    pub other: u32,
}

impl Tally {
    /// Counts one.
    pub fn add(&mut self, said: &Said) {
        self.tried += 1;
        match said.outcome {
            Some(Outcome::Passed) => self.passed += 1,
            Some(Outcome::NeedsWork) => self.needs_work += 1,
            Some(Outcome::Unclear) => self.unclear += 1,
            None => self.nothing += 1,
        }
        self.among += u32::from(said.among);
        self.first += u32::from(said.first);
        self.other += u32::from(said.other);
    }

    /// Adds what another one counted.
    pub fn join(&mut self, other: &Self) {
        self.tried += other.tried;
        self.passed += other.passed;
        self.needs_work += other.needs_work;
        self.unclear += other.unclear;
        self.nothing += other.nothing;
        self.among += other.among;
        self.first += other.first;
        self.other += other.other;
    }

    /// A count as a share.
    pub fn share(&self, count: u32) -> f64 {
        f64::from(count) / f64::from(self.tried.max(1))
    }
}
