//! The findings of an attempt, as they are collected.

use crate::limits::FINDINGS;
use crate::measure::statistics::Compared;
use crate::verdict::{Finding, Kind, SettledBy, Severity, Size, Verdict};
use heapless::Vec;

/// Size in per mille of the limit.
pub(super) fn share(size: Size, limit: Size) -> u32 {
    let limit = u64::from(limit.magnitude()).max(1);
    (u64::from(size.magnitude()) * 1_000 / limit).min(60_000) as u32
}

#[derive(Default)]
pub(super) struct Findings(Vec<Finding, FINDINGS>);

impl Findings {
    #[expect(clippy::too_many_arguments, reason = "the fields of a finding, in order")]
    pub(super) fn add(
        &mut self,
        kind: Kind,
        severity: Severity,
        note: Option<usize>,
        count: u16,
        size: Size,
        limit: Size,
        weight: u32,
    ) {
        let weight = weight.min(u32::from(u16::MAX)) as u16;
        let note = note.map(|note| note as u16);
        let settled_by = SettledBy::Nothing;
        let finding = Finding { kind, severity, note, count, size, limit, weight, settled_by };
        self.push(finding);
    }

    fn push(&mut self, finding: Finding) {
        if let Err(finding) = self.0.push(finding) {
            // Full: the lightest gives way.
            if let Some(lightest) = self.0.iter_mut().min_by_key(|f| (f.severity, f.weight))
                && (lightest.severity, lightest.weight) < (finding.severity, finding.weight)
            {
                *lightest = finding;
            }
        }
    }

    pub(super) fn over(&mut self, kind: Kind, note: usize, count: u16, size: Size, limit: Size) {
        let weight = share(size, limit);
        self.add(kind, Severity::Fails, Some(note), count, size, limit, weight);
    }

    /// Adds what fails because it is under its limit: weighs more the further it is, up to twice
    /// the limit's weight at nothing (our default).
    pub(super) fn under(&mut self, kind: Kind, note: usize, count: u16, size: Size, limit: Size) {
        let of_limit = if size.is_negative() { 0 } else { share(size, limit) };
        let short = 1_000_u32.saturating_sub(of_limit);
        self.add(kind, Severity::Fails, Some(note), count, size, limit, 1_000 + short);
    }

    /// The same for what hangs on one note, where `doubt` is how far chance may have put it off:
    /// it fails if it is under the limit by more than that (or by all of the limit), and is
    /// unsettled between.
    pub(super) fn single_under(
        &mut self,
        kind: Kind,
        note: usize,
        count: u16,
        (size, limit): (Size, Size),
        doubt: u32,
    ) {
        let fails_under = limit.magnitude().saturating_sub(doubt);
        if size.is_negative() || size.magnitude() < fails_under {
            self.under(kind, note, count, size, limit);
        } else {
            self.open(kind, Some(note), count, (size, limit), 1_000, SettledBy::AnotherAttempt);
        }
    }

    /// One note, or several, over the limit, the worst by so much; `doubt` is how far chance
    /// may have put it off. It fails if it is over the limit by more than that (or by half of
    /// the limit, however much the hands scatter), and is unsettled between.
    pub(super) fn single(
        &mut self,
        kind: Kind,
        note: usize,
        count: u16,
        (size, limit): (Size, Size),
        doubt: u32,
    ) {
        let doubt = doubt.min(limit.magnitude() / 2);
        if size.magnitude() > limit.magnitude().saturating_add(doubt) {
            self.over(kind, note, count, size, limit);
        } else {
            self.open(kind, Some(note), count, (size, limit), 1_000, SettledBy::AnotherAttempt);
        }
    }

    /// What is over its limit, and may be the pickup's doing.
    pub(super) fn by_the_pickup(
        &mut self,
        kind: Kind,
        note: usize,
        count: u16,
        sizes: (Size, Size),
    ) {
        self.open(kind, Some(note), count, sizes, 1_000, SettledBy::ThePickup);
    }

    /// What fails and may be the pickup's doing is unsettled.
    pub(super) fn leave_to_the_pickup(&mut self, may_be: impl Fn(&Finding) -> bool) {
        let failing = self.0.iter_mut().filter(|finding| finding.severity == Severity::Fails);
        for finding in failing.filter(|finding| may_be(finding)) {
            (finding.severity, finding.settled_by) = (Severity::Unsettled, SettledBy::ThePickup);
            finding.weight = 1_000;
        }
    }

    /// Forgets what was told of this kind.
    pub(super) fn take_back(&mut self, kind: Kind) {
        self.0.retain(|finding| finding.kind != kind);
    }

    /// What is told of the whole stands before what fails of single notes: they are part of it.
    pub(super) fn the_whole_first(&mut self, kind: Kind, single: &[Kind]) {
        let fails = |f: &&Finding| f.severity == Severity::Fails;
        let of_single = self.0.iter().filter(fails).filter(|f| single.contains(&f.kind));
        let Some(heaviest) = of_single.map(|finding| finding.weight).max() else { return };
        let whole = self.0.iter_mut().filter(|f| f.kind == kind && f.severity == Severity::Fails);
        for finding in whole {
            finding.weight = finding.weight.max(heaviest.saturating_add(1));
        }
    }

    /// One of few notes that is out may be chance's choice among many that scatter. Where a
    /// single note or pause was `told`, and all together would be over the limit, it is said,
    /// too, that it may be the whole: unsettled, so the verdict does not change.
    pub(super) fn perhaps_all(
        &mut self,
        kind: Kind,
        told: &[Kind],
        compared: Compared,
        (size, limit): (Size, Size),
    ) {
        let has = |kinds: &[Kind]| self.0.iter().any(|finding| kinds.contains(&finding.kind));
        if compared != Compared::Within && has(told) && !has(&[kind]) {
            self.close(kind, None, size, limit, 1);
        }
    }

    /// Where `whole` fails, what of these is no larger than `most` is but a part of it, and stands
    /// after it.
    pub(super) fn outrank(&mut self, whole: Kind, parts: &[Kind], most: u32) {
        let fails = |f: &&Finding| f.kind == whole && f.severity == Severity::Fails;
        let Some(weight) = self.0.iter().find(fails).map(|f| f.weight) else { return };
        for part in &mut self.0 {
            if parts.contains(&part.kind) && part.size.magnitude() <= most {
                part.weight = part.weight.min(weight.saturating_sub(1));
            }
        }
    }

    /// Whether one of these kinds has been told, not as mere advice.
    pub(super) fn tell_any(&self, kinds: &[Kind]) -> bool {
        let told = |f: &Finding| f.severity != Severity::Advice && kinds.contains(&f.kind);
        self.0.iter().any(told)
    }

    /// Too close to call: so many more attempts would settle it.
    pub(super) fn close(
        &mut self,
        kind: Kind,
        note: Option<usize>,
        size: Size,
        limit: Size,
        more: u8,
    ) {
        self.open(kind, note, 1, (size, limit), 1_000, SettledBy::MoreAttempts(more));
    }

    /// The likelier of two things that explain the same, neither for certain.
    pub(super) fn likelier(
        &mut self,
        kind: Kind,
        note: usize,
        count: u16,
        size: Size,
        limit: Size,
    ) {
        let weight = share(size, limit) as u16;
        self.open(kind, Some(note), count, (size, limit), weight, SettledBy::AnotherAttempt);
    }

    pub(super) fn unsettled(&mut self, kind: Kind, note: Option<usize>, size: Size, limit: Size) {
        let settled_by = match kind {
            Kind::EvennessNotHeard => SettledBy::ThePickup,
            _ => SettledBy::AnotherAttempt,
        };
        self.open(kind, note, 1, (size, limit), 1_000, settled_by);
    }

    /// Adds what is not settled, and what would settle it.
    fn open(
        &mut self,
        kind: Kind,
        note: Option<usize>,
        count: u16,
        (size, limit): (Size, Size),
        weight: u16,
        settled_by: SettledBy,
    ) {
        let (severity, note) = (Severity::Unsettled, note.map(|note| note as u16));
        self.push(Finding { kind, severity, note, count, size, limit, weight, settled_by });
    }

    /// What fails of these kinds, of a note of which it is in doubt, is unsettled.
    pub(super) fn unsettle(&mut self, kinds: &[Kind], is_in_doubt: impl Fn(usize) -> bool) {
        let fails = self.0.iter_mut().filter(|f| f.severity == Severity::Fails);
        for finding in fails.filter(|finding| kinds.contains(&finding.kind)) {
            if finding.note.is_some_and(|note| is_in_doubt(note.into())) {
                (finding.severity, finding.settled_by) =
                    (Severity::Unsettled, SettledBy::AnotherAttempt);
            }
        }
    }

    /// Notes of which it is open whether they are slips.
    pub(super) fn open_notes(
        &mut self,
        kind: Kind,
        (severity, settled_by): (Severity, SettledBy),
        note: Option<usize>,
        count: u16,
        allowed: u16,
    ) {
        let (size, limit) = (Size::Notes(count), Size::Notes(allowed));
        let (note, weight) = (note.map(|note| note as u16), 2_000);
        self.push(Finding { kind, severity, note, count, size, limit, weight, settled_by });
    }

    /// Unsettled, until the pickup is set up better.
    pub(super) fn pickup(&mut self, kind: Kind, size: Size, limit: Size, weight: u32) {
        let weight = weight.min(u32::from(u16::MAX)) as u16;
        let Size::Notes(count) = size else { return };
        let (severity, settled_by) = (Severity::Unsettled, SettledBy::ThePickup);
        self.push(Finding { kind, severity, note: None, count, size, limit, weight, settled_by });
    }

    pub(super) fn verdict(self) -> Verdict {
        Verdict::of(self.0)
    }
}
