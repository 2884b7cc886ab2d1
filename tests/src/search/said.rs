//! What was said of the attempt that is looked at.

use evenhand::listening::Finished;
use evenhand_core::verdict::{Kind, Outcome, Severity};

use super::stream::Stream;
use crate::lab::live::kindness;

/// What was said.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The verdict; none if the attempt went by without a word. Of several that are about it, the
    /// kindest counts: one that passes is one too many.
    pub outcome: Option<Outcome>,
    /// Whether a right reason is among the findings.
    pub among: bool,
    /// Whether it stands first.
    pub first: bool,
    /// Whether a finding that fails names another fault.
    pub other: bool,
    /// What the verdict names first.
    pub named: Option<Kind>,
    /// How many attempts the verdict was taken from.
    pub together: u8,
}

impl Said {
    /// Takes a verdict in, if it is about the attempt: about half of it at least.
    pub fn hear(&mut self, finished: &Finished<'_>, stream: &Stream, reasons: &[Kind]) {
        let inside = |number: &u32| stream.attempt.contains(number);
        let about = finished.arrival.iter().flatten().filter(|number| inside(number)).count();
        if (about as u32) * 2 < stream.proper {
            return;
        }
        let verdict = &finished.verdict;
        if self.outcome.is_none_or(|outcome| kindness(verdict.outcome) > kindness(outcome)) {
            self.outcome = Some(verdict.outcome);
            self.together = finished.together;
            self.named = verdict.findings.first().map(|finding| finding.kind);
        }
        let right = |kind: Kind| reasons.contains(&kind);
        self.among |= verdict.findings.iter().any(|finding| right(finding.kind));
        self.first |= verdict.findings.first().is_some_and(|finding| right(finding.kind));
        let fails = |severity: Severity| severity == Severity::Fails;
        self.other |= verdict.findings.iter().any(|f| fails(f.severity) && !right(f.kind));
    }
}
