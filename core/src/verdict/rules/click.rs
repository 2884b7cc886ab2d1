//! With a click: single notes and drift against it, and how far all of it lies beside it.

use super::chance::doubt_of_one;
use super::findings::{Findings, share};
use super::scatter::{clean_scatter, compare_drift, drift_limit, scatter};
use crate::arithmetic::root;
use crate::measure::click::AgainstClick;
use crate::measure::statistics::Compared;
use crate::measure::timing::Timing;
use crate::tolerance::Tolerances;
use crate::verdict::{Kind, Severity, Size};

pub(super) fn beside(
    tolerances: &Tolerances,
    timing: &Timing,
    against: AgainstClick,
    findings: &mut Findings,
) {
    if let Some((off, count)) = against.off {
        let limit = Size::Time(tolerances.single_note.at(timing.interval));
        let sizes = (Size::Time(off.by), limit);
        findings.single(Kind::OnsetOffClick, off.note, count, sizes, doubt_of_one(scatter(timing)));
    }
    if let Some(away) = against.away_per_mille {
        let (size, limit) = (Size::PerMille(away as i16), drift_limit(tolerances));
        let degrees = timing.steadiness.map_or(0, |measured| measured.degrees);
        let errors = [scatter(timing), clean_scatter(tolerances, timing)];
        let [own, clean] = errors.map(|scatter| pace_error(timing, scatter));
        match compare_drift(size.magnitude(), (own, clean), degrees, limit.magnitude()) {
            Compared::Within => {}
            Compared::TooCloseToCall => {
                findings.unsettled(Kind::TempoOffClick, None, size, limit);
            }
            Compared::Over => {
                let (kind, weight) = (Kind::TempoOffClick, share(size, limit));
                findings.add(kind, Severity::Fails, None, 1, size, limit, weight);
            }
        }
    }
    let (earliest, latest) = tolerances.click_offset;
    let lag = against.lag;
    if lag < earliest || lag > latest {
        let (size, limit) = (Size::Time(lag), Size::Time(lag.clamp(earliest, latest)));
        let weight = share(size, limit);
        findings.add(Kind::ClickBias, Severity::Advice, None, 1, size, limit, weight);
    }
}

/// The standard error of the pace in per mille: the slope of n equally spaced onsets of scatter s
/// has s · √12 / n^1.5 an interval.
fn pace_error(timing: &Timing, scatter: u32) -> u32 {
    let interval = u64::from(timing.interval.as_micros().unsigned_abs().max(1));
    let onsets = timing.points.len() as u64;
    // In thousandths: n^1.5, and √12 = 3.464.
    let to_the_1_5 = root(onsets * onsets * onsets * 1_000_000).max(1);
    let error = 3_464 * 1_000 * u64::from(scatter) / (interval * to_the_1_5);
    error.min(10_000) as u32
}
