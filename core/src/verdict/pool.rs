//! Several attempts taken together: what one of them leaves open, they may settle.
//!
//! Eight notes tell little about steadiness: the true scatter lies between 0.56 and 1.42 times
//! what was measured, in nine cases of ten (χ²). Attempts at the same chunk, at about the same
//! tempo and by the same limits, add up: their sums of squares and their degrees of freedom, the
//! mean of their drifts, the mean of their slurs.
//!
//! What was unsettled in the last attempt is settled so, if the attempt itself was not over the
//! limit; and what passed in each of several attempts, but by so little that together they are over
//! it, fails. What failed, failed.
//!
//! A landing that is not played leaves an attempt unclear; three times in a row,
//! it is a fault.

use super::evidence::{Evidence, Spread};
use super::fingerprint::fingerprint;
use super::places::Places;
use super::recent::Recent;
use super::rules::{compare_drift, slurs_doubt};
use super::{Finding, Kind, Outcome, SettledBy, Severity, Size, Verdict};
use crate::arithmetic::root;
use crate::limits::FINDINGS;
use crate::measure::Material;
use crate::measure::lateness;
use crate::measure::statistics::{Compared, compare_deviation, more_attempts};
use crate::pickup::Habits;
use crate::units::{Level, Offset};

/// Attempts whose tempo differs by more than this from the last one's, in per mille, are not
/// taken together with it: a tempo is raised by about 4 % at a time, and lowered by 5 to 7 %,
/// and what holds at one need not hold at the next. Our default.
const SAME_TEMPO: u32 = 30;

/// Who leaves the landing out so often in a row does not practise it. Our default.
const LANDINGS_LEFT_OUT: u16 = 3;

/// The verdict on the last attempt, after taking it together with those before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pooled {
    /// The verdict.
    pub verdict: Verdict,
    /// How many attempts it took; 1 if the last one stood for itself.
    pub attempts: u8,
}

/// The last attempts at one chunk.
///
/// Give it every attempt in the order they were played, with what was said of it. Another chunk,
/// other limits or another tempo begin anew by themselves. The last of them can be taken back.
#[derive(Clone, Debug, Default)]
pub struct Pool {
    recent: Recent<Evidence>,
    /// What they have shown of each place.
    places: Places,
    /// What the attempts have in common: the chunk, and the limits that they were judged by.
    chunk: Option<u64>,
    /// How often the landing was left out in a row.
    landings_left_out: u16,
    /// The next attempt is not taken together with these.
    begins_anew: bool,
    /// What the last attempt changed; nothing where it has been taken back.
    before: Option<Before>,
}

/// What was known before an attempt, beside what [`Recent`] and [`Places`] know.
#[derive(Clone, Copy, Debug)]
struct Before {
    /// What the attempts had in common, where it was something else.
    other_chunk: Option<Option<u64>>,
    landings_left_out: u16,
    /// The attempt was added to the recent ones.
    is_added: bool,
}

impl Pool {
    /// No attempts yet.
    pub const fn new() -> Self {
        Self {
            recent: Recent::new(),
            places: Places::new(),
            chunk: None,
            landings_left_out: 0,
            begins_anew: false,
            before: None,
        }
    }

    /// Something else is to be played: the next attempt is not taken together with those before it. They
    /// are kept until it comes, so that the last can still be taken back.
    pub const fn begin_anew(&mut self) {
        self.begins_anew = true;
    }

    /// Takes the last attempt back: from here on it is as if it had not been played, also if something
    /// else was to be played since. What was charged to the player in it, `habits` keep as half a mistake
    /// of the pickup each; see [`Habits::dispute`]. Says whether there was one to take back: only the last
    /// one can be, and once.
    pub fn take_back(&mut self, habits: &mut Habits) -> bool {
        let Some(before) = self.before.take() else { return false };
        self.recent.take_back(before.is_added);
        habits.dispute(&self.places.take_back());
        self.chunk = before.other_chunk.unwrap_or(self.chunk);
        self.landings_left_out = before.landings_left_out;
        self.begins_anew = false;
        true
    }

    /// Makes room for the next attempt: what it could not be taken back to any more is dropped.
    fn begin(&mut self) {
        self.recent.settle();
        if self.begins_anew {
            self.recent = Recent::new();
            self.places.clear();
            (self.chunk, self.landings_left_out, self.begins_anew) = (None, 0, false);
        }
        self.places.begin();
        let landings_left_out = self.landings_left_out;
        self.before = Some(Before { other_chunk: None, landings_left_out, is_added: false });
    }

    /// Takes an attempt and what was said of it, and says what they say together. `habits` learn
    /// from it how the pickup errs.
    pub fn add(
        &mut self,
        material: Material<'_>,
        verdict: &Verdict,
        habits: &mut Habits,
    ) -> Pooled {
        self.begin();
        let together = self.take(material, verdict);
        let before = self.places.attempts();
        let placed = match is_judged(verdict) {
            true => {
                if verdict.finding(Kind::PoorHearing).is_none() {
                    lateness::learn(material, habits);
                }
                self.places.settle(material, verdict, habits)
            }
            false => None,
        };
        let settled = placed.as_ref().unwrap_or(verdict);
        let mut pooled = if together {
            self.settle(settled)
        } else {
            Pooled { verdict: settled.clone(), attempts: 1 }
        };
        if placed.is_some() {
            pooled.attempts = pooled.attempts.max(before + 1);
        }
        self.count_landings(&mut pooled.verdict);
        pooled
    }

    /// Counts landings that were left out in a row, and says so when there are too many.
    fn count_landings(&mut self, verdict: &mut Verdict) {
        let left_out = verdict.findings.iter_mut().find(|f| f.kind == Kind::LandingNotPlayed);
        let Some(finding) = left_out else {
            let reached = |f: &Finding| !matches!(f.kind, Kind::NothingHeard | Kind::BrokenOff);
            if verdict.findings.iter().all(reached) {
                self.landings_left_out = 0;
            }
            return;
        };
        self.landings_left_out = self.landings_left_out.saturating_add(1);
        finding.count = self.landings_left_out;
        if self.landings_left_out >= LANDINGS_LEFT_OUT {
            (finding.severity, finding.settled_by) = (Severity::Fails, SettledBy::Nothing);
            let findings = core::mem::take(&mut verdict.findings);
            *verdict = Verdict::of(findings);
        }
    }

    /// Takes an attempt. Whether there are others that it can be taken together with.
    fn take(&mut self, material: Material<'_>, verdict: &Verdict) -> bool {
        let chunk = Some(fingerprint(material));
        if self.chunk != chunk {
            self.recent.leave();
            self.places.clear();
            if let Some(before) = &mut self.before {
                before.other_chunk = Some(self.chunk);
            }
            self.chunk = chunk;
            self.landings_left_out = 0;
        }
        if !is_judged(verdict) || verdict.finding(Kind::PoorHearing).is_some() {
            return false;
        }
        let Some(evidence) = Evidence::of(material, verdict) else { return false };
        let near = |pace: u32| {
            u64::from(pace.abs_diff(evidence.pace)) * 1_000
                <= u64::from(evidence.pace) * u64::from(SAME_TEMPO)
        };
        if self.recent.last().is_some_and(|last| !near(last.pace)) {
            self.recent.leave();
            self.places.clear();
        }
        self.recent.push(evidence);
        if let Some(before) = &mut self.before {
            before.is_added = true;
        }
        self.recent.len() >= 2
    }

    /// The verdict with everything settled that can be.
    // Not inlined: its verdicts are not on the stack while attempts are measured.
    #[inline(never)]
    fn settle(&self, verdict: &Verdict) -> Pooled {
        let mut findings: heapless::Vec<Finding, FINDINGS> = heapless::Vec::new();
        let mut changed = false;
        for finding in &verdict.findings {
            // Where it is open whether a stretch made the onsets scatter, more scatter settles nothing.
            // Nor does more playing settle what is left to the pickup.
            let is_open = finding.severity == Severity::Unsettled
                && finding.settled_by != SettledBy::ThePickup
                && !(finding.kind == Kind::Unsteady && verdict.finding(Kind::OffPace).is_some());
            let together = is_open.then(|| self.together(finding)).flatten();
            let Some((compared, size, more)) = together else {
                let _ = findings.push(*finding);
                continue;
            };
            let open = *finding;
            match compared {
                // What was over the limit this time is not made good by the times before.
                Compared::Within if self.is_over_by_itself(&open) => {
                    let settled_by = SettledBy::MoreAttempts(1);
                    let _ = findings.push(Finding { settled_by, ..open });
                }
                Compared::Within => changed = true,
                Compared::TooCloseToCall => {
                    let settled_by = SettledBy::MoreAttempts(more);
                    let _ = findings.push(Finding { size, settled_by, ..open });
                    changed = true;
                }
                Compared::Over => {
                    let limit = u64::from(open.limit.magnitude().max(1));
                    let weight = u64::from(size.magnitude()) * 1_000 / limit;
                    let weight = weight.min(u64::from(u16::MAX)) as u16;
                    let (severity, settled_by) = (Severity::Fails, SettledBy::Nothing);
                    let _ = findings.push(Finding { severity, size, weight, settled_by, ..open });
                    changed = true;
                }
            }
        }
        if verdict.outcome == Outcome::Passed {
            for told in self.over_together() {
                let _ = findings.push(told);
                changed = true;
            }
        }
        if !changed {
            return Pooled { verdict: verdict.clone(), attempts: 1 };
        }
        Pooled { verdict: Verdict::of(findings), attempts: self.recent.len() as u8 }
    }

    /// Whether the last attempt was over the limit of a finding by more than chance makes of it: a
    /// standard deviation at all, a drift by a standard error.
    fn is_over_by_itself(&self, finding: &Finding) -> bool {
        let (size, limit) = (finding.size.magnitude(), finding.limit.magnitude());
        match finding.kind {
            Kind::Unsteady | Kind::Uneven | Kind::WeakSlurs => size > limit,
            Kind::Drift => {
                let last = self.recent.last().and_then(|last| last.drift);
                size > limit.saturating_add(last.map_or(0, |(_, _, clean)| clean))
            }
            _ => false,
        }
    }

    /// What the attempts that did not fail are over in together, though each of them passed.
    fn over_together(&self) -> impl Iterator<Item = Finding> + use<'_> {
        let since = self.recent.iter().rev().take_while(|one| !one.needs_work).count();
        let limits = self.recent.last().filter(|_| since >= 2);
        let limits = limits.map(|last| {
            let drift = last.may_drift.min(30_000) as i16;
            [
                (Kind::Unsteady, Size::Time(Offset::from_micros(last.may_scatter))),
                (Kind::Uneven, Size::Loudness(last.may_vary)),
                (Kind::Drift, Size::PerMille(drift)),
            ]
        });
        limits.into_iter().flatten().filter_map(move |(kind, limit)| {
            let finding = Finding {
                kind,
                severity: Severity::Fails,
                note: None,
                count: 1,
                size: limit,
                limit,
                weight: 0,
                settled_by: SettledBy::Nothing,
            };
            let (compared, size, _) = self.together_of(&finding, since)?;
            let weight = u64::from(size.magnitude()) * 1_000 / u64::from(limit.magnitude().max(1));
            let weight = weight.min(u64::from(u16::MAX)) as u16;
            (compared == Compared::Over).then_some(Finding { size, weight, ..finding })
        })
    }

    /// What all attempts say of a finding: how it compares, its size, and how many more
    /// attempts it would take. `None` where they add nothing.
    fn together(&self, finding: &Finding) -> Option<(Compared, Size, u8)> {
        self.together_of(finding, self.recent.len())
    }

    /// The same of the last `count` attempts.
    fn together_of(&self, finding: &Finding, count: usize) -> Option<(Compared, Size, u8)> {
        let limit = finding.limit.magnitude() as i32;
        let attempts = count as u32;
        let last = || self.recent.iter().skip(self.recent.len().saturating_sub(count));
        // Of `more` attempts, each like the mean of these.
        let more = |total: u8| {
            let (total, attempts) = (u32::from(total), attempts.max(1));
            (total * attempts).saturating_sub(attempts).clamp(1, u32::from(u8::MAX)) as u8
        };
        let spread = |which: fn(&Evidence) -> Spread| {
            last().map(which).fold(Spread::default(), |sum, one| Spread {
                squares: sum.squares.saturating_add(one.squares),
                degrees: sum.degrees + one.degrees,
            })
        };
        let compared = |spread: Spread| -> Option<(Compared, i32, u8)> {
            let measured = spread.deviation()?;
            let compared = compare_deviation(measured, spread.degrees, limit);
            Some((compared, measured, more(more_attempts(measured, spread.degrees, limit) + 1)))
        };
        match finding.kind {
            Kind::Unsteady => {
                let (compared, size, more) = compared(spread(|one| one.steadiness))?;
                Some((compared, Size::Time(Offset::from_micros(size)), more))
            }
            Kind::Uneven => {
                let (compared, size, more) = compared(spread(|one| one.loudness))?;
                let size = size.min(i32::from(i16::MAX)) as i16;
                Some((compared, Size::Loudness(Level::from_hundredths(size)), more))
            }
            Kind::Drift => drift(last(), limit),
            Kind::WeakSlurs => {
                self.slurs(finding, spread(|one| one.loudness).deviation().unwrap_or(0))
            }
            _ => None,
        }
    }

    /// The slurs on average; or the weakest, if it was the same note every time.
    fn slurs(&self, finding: &Finding, scatter: i32) -> Option<(Compared, Size, u8)> {
        let (mut sum, mut slurred, mut plucked) = (0_i32, 0_u16, 0_u16);
        let (mut weakest, mut same, mut count) = (0_i32, true, 0_u16);
        for slurs in self.recent.iter().filter_map(|one| one.slurs) {
            sum += i32::from(slurs.median.hundredths()) * i32::from(slurs.measured);
            slurred += slurs.measured;
            plucked += slurs.plucked;
            weakest += i32::from(slurs.weakest_level.hundredths());
            same &= Some(slurs.weakest as u16) == finding.note;
            count += 1;
        }
        let mean = sum.checked_div(slurred.into())?;
        let limit = finding.limit.magnitude() as i32;
        let compare = |below: i32, slurred: u16| {
            let doubt = slurs_doubt(scatter.unsigned_abs(), slurred, plucked) as i32;
            match below {
                _ if below <= limit => Compared::Within,
                _ if below <= limit.saturating_add(doubt) => Compared::TooCloseToCall,
                _ => Compared::Over,
            }
        };
        let size = |level: i32| Size::Loudness(Level::from_hundredths(level as i16));
        let all = compare(-mean, slurred);
        let weakest = weakest.checked_div(count.into())?;
        if same && all == Compared::Within {
            return Some((compare(-weakest, count), size(weakest), 1));
        }
        Some((all, size(mean), 1))
    }
}

/// The mean drift of attempts. Where a pause explains the onsets of most of them as well, it may be
/// the same pause each time, and it is no drift for certain.
fn drift<'a>(
    attempts: impl Iterator<Item = &'a Evidence>,
    limit: i32,
) -> Option<(Compared, Size, u8)> {
    let (mut sum, mut squares, mut count, mut degrees) = (0_i64, [0_u64; 2], 0, 0);
    let mut pauses = 0;
    for one in attempts {
        degrees += one.steadiness.degrees;
        let Some((drift, error, clean)) = one.drift else { continue };
        sum += i64::from(drift);
        squares = [squares[0] + u64::from(error).pow(2), squares[1] + u64::from(clean).pow(2)];
        count += 1;
        pauses += i64::from(one.maybe_a_pause);
    }
    let mean = sum.checked_div(count)?.clamp(-30_000, 30_000) as i16;
    let [error, clean] = squares.map(|sum| (root(sum) / count.unsigned_abs()) as u32);
    let size = Size::PerMille(mean);
    let compared = compare_drift(size.magnitude(), (error, clean), degrees, limit.unsigned_abs());
    let compared = match compared {
        Compared::Over if pauses * 2 > count => Compared::TooCloseToCall,
        other => other,
    };
    Some((compared, size, 1))
}

/// Whether it was an attempt to the end of its chunk.
fn is_judged(verdict: &Verdict) -> bool {
    let not_judged = [
        Kind::NothingHeard,
        Kind::NotThisChunk,
        Kind::BrokenOff,
        Kind::BegunMidway,
        Kind::NoTimeHeard,
    ];
    not_judged.iter().all(|&kind| verdict.finding(kind).is_none())
}
