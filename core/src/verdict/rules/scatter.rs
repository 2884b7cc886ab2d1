//! How far hands scatter, and what that leaves in doubt.

use crate::arithmetic::product;
use crate::measure::statistics::{Compared, student_90, student_99};
use crate::measure::timing::Timing;
use crate::tolerance::Tolerances;
use crate::verdict::Size;

/// How far skilled hands scatter, in microseconds: professional pianists' scales have a standard
/// deviation of 8 to 9 ms (Jabusch 2006).
const SKILLED: u32 = 8_000;

/// How far the hands of a clean player scatter, in microseconds: half of what the level allows,
/// or as skilled players do.
pub(super) fn clean_scatter(tolerances: &Tolerances, timing: &Timing) -> u32 {
    let allowed = tolerances.unsteadiness.at(timing.interval).as_micros().unsigned_abs();
    (allowed / 2).max(SKILLED)
}

/// How far the hands scatter, in microseconds; 0 where that is not known.
pub(super) fn scatter(timing: &Timing) -> u32 {
    timing.steadiness.map_or(0, |measured| measured.deviation.as_micros().unsigned_abs())
}

/// What of a change of tempo would pass.
pub(super) fn drift_limit(tolerances: &Tolerances) -> Size {
    Size::PerMille(tolerances.drift_per_mille.min(30_000) as i16)
}

/// The standard error of a clean player's drift, in per mille.
pub(in crate::verdict) fn clean_drift_error(tolerances: &Tolerances, timing: &Timing) -> u32 {
    let clean = u64::from(clean_scatter(tolerances, timing));
    (product(timing.drift_error_a_second, clean) / 1_000_000).min(1_000_000) as u32
}

/// Compares a drift with its limit, all in per mille. `error` is its standard error as far as the
/// attempt's own scatter tells it, `clean` that of a clean player.
///
/// It is within if it is at most the limit, or what a clean player's hands make of a steady tempo
/// in 97 cases of a hundred: the drift of eight fast notes is known to no better than a few per
/// cent. It is over for certain if it is beyond the limit by what chance makes in one case of ten,
/// and more than chance makes of a steady tempo in one case of a hundred.
pub(in crate::verdict) fn compare_drift(
    size: u32,
    (error, clean): (u32, u32),
    degrees: u32,
    limit: u32,
) -> Compared {
    let chance = |times: u32| (u64::from(error) * u64::from(times) / 1_000) as u32;
    // Φ⁻¹(0.985) = 2.17, on either side.
    if size <= limit.max((u64::from(clean) * 217 / 100) as u32) {
        Compared::Within
    } else if size <= limit.saturating_add(chance(student_90(degrees)))
        || size <= chance(student_99(degrees))
    {
        Compared::TooCloseToCall
    } else {
        Compared::Over
    }
}
