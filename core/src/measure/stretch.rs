//! A stretch inside the chunk that was rushed or dragged.
//!
//! A run of at least four events whose pace differs from the pace of the whole: the slope (least
//! squares) of its onsets around the player's own tempo, drift taken off, in per mille of the
//! pace. Slower is positive. Runs do not cross breaks of the tempo. Told is, of the runs whose
//! difference is over the limit, the one that is least likely to be chance; it needs eight events
//! in the attempt.
//!
//! A difference counts only if it is more than [`STANDARD_ERRORS`] of its standard errors: for a
//! scatter s of the onsets, s / √(Σ(x − x̄)²) with the positions x. The scatter is taken from
//! the distance of each onset from the line between its two neighbours, which a change of pace
//! leaves alone: root of their mean square / √1.5, and at least 6 ms, under which nobody notices
//! (Friberg & Sundberg 1995). It is not robust: a stray makes it larger, and the measure more
//! careful.
//!
//! A stretch that is not drawn out to the end also pulls at the pace of the whole, so that it
//! shows a little smaller than it was.

use super::statistics::deviation;
use super::timing::Timing;
use crate::units::Ticks;

/// The fewest events of an attempt in which one is looked for: as many again as a stretch has.
const FEWEST_EVENTS: usize = 8;

/// The fewest events of a stretch.
pub const FEWEST_IN_A_STRETCH: usize = 4;

/// How many standard errors, in thousandths, the difference must be. Our default: the largest
/// of the hundreds of runs in an attempt is looked at, so it must be far more than for one. With
/// normal scatter at the limit of `steady` fewer than one attempt in a hundred shows a stretch
/// that is none (see the test).
pub const STANDARD_ERRORS: u64 = 4_500;

/// Onsets scatter at least this much, in microseconds.
const LEAST_SCATTER: i32 = 6_000;

/// Distances are held at 20 s, so that their squares fit.
const MOST_DISTANCE: u64 = 20_000_000;

/// A stretch that was faster or slower than the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The expected note it begins with.
    pub note: usize,
    /// The expected note its last event begins with.
    pub last: usize,
    /// How many events it has.
    pub events: u16,
    /// How much slower it was, in per mille of the pace.
    pub per_mille: i16,
}

/// Finds the stretch whose pace differs by more than `limit` per mille.
pub fn stretch(timing: &Timing, limit: u16) -> Option<Stretch> {
    let tempo = timing.tempo.as_ref()?;
    if timing.points.len() < FEWEST_EVENTS {
        return None;
    }
    let scatter = u64::from(scatter(timing)?.unsigned_abs());
    let mut best: Option<(u64, Stretch)> = None;
    for segment in tempo.segments() {
        let points = timing.points.get(segment.clone()).unwrap_or(&[]);
        let residuals = timing.residuals.get(segment).unwrap_or(&[]);
        for (first, from) in points.iter().enumerate() {
            let mut sums = Sums::default();
            for (point, &residual) in points.iter().zip(residuals).skip(first) {
                sums.add(point.written.since(from.written), residual);
                if sums.count < FEWEST_IN_A_STRETCH as i64 {
                    continue;
                }
                let Some(per_mille) = sums.per_mille(tempo.pace) else { continue };
                if per_mille.unsigned_abs() <= u32::from(limit) {
                    continue;
                }
                let errors = sums.standard_errors(per_mille, tempo.pace, scatter);
                if errors > STANDARD_ERRORS && best.is_none_or(|(most, _)| errors > most) {
                    let found = Stretch {
                        note: usize::from(from.note),
                        last: usize::from(point.note),
                        events: sums.count as u16,
                        per_mille: per_mille.clamp(-10_000, 10_000) as i16,
                    };
                    best = Some((errors, found));
                }
            }
        }
    }
    best.map(|(_, stretch)| stretch)
}

/// How much single onsets scatter, changes of pace aside.
fn scatter(timing: &Timing) -> Option<i32> {
    let tempo = timing.tempo.as_ref()?;
    let (mut squares, mut count) = (0_u64, 0_u32);
    for segment in tempo.segments() {
        let points = timing.points.get(segment.clone()).unwrap_or(&[]);
        let residuals = timing.residuals.get(segment).unwrap_or(&[]);
        for (points, residuals) in points.windows(3).zip(residuals.windows(3)) {
            let ([a, b, c], &[before, here, after]) = (points, residuals) else { continue };
            let whole = i64::from(c.written.since(a.written).get()).max(1);
            let part = i64::from(b.written.since(a.written).get());
            let line = i64::from(before) + (i64::from(after) - i64::from(before)) * part / whole;
            let distance = (i64::from(here) - line).unsigned_abs().min(MOST_DISTANCE);
            squares = squares.saturating_add(distance.pow(2));
            count += 1;
        }
    }
    // 1 / √1.5 = 0.816.
    let scatter = i64::from(deviation(squares, count)?) * 816 / 1_000;
    Some((scatter as i32).max(LEAST_SCATTER))
}

/// Sums for a line through the onsets of a run. Positions count in units of six ticks, of which
/// the usual note values are multiples, so that the sums fit.
#[derive(Default)]
struct Sums {
    count: i64,
    x: i64,
    y: i64,
    xx: i64,
    xy: i64,
}

impl Sums {
    /// Ticks to a unit of position.
    const UNIT: u32 = 6;
    const UNITS_A_QUARTER: i64 = (Ticks::PER_QUARTER / Self::UNIT) as i64;

    fn add(&mut self, position: Ticks, residual: i32) {
        // Beyond 20 s nothing is a stretch; this keeps the sums within 64 bits.
        let (x, y) = (i64::from(position.get() / Self::UNIT), i64::from(residual));
        let y = y.clamp(-20_000_000, 20_000_000);
        self.count += 1;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.xy += x * y;
    }

    /// n · Σ(x − x̄)².
    fn width(&self) -> i64 {
        self.count * self.xx - self.x * self.x
    }

    /// The slope in per mille of the pace.
    fn per_mille(&self, pace: u32) -> Option<i32> {
        let mut over = self.count * self.xy - self.x * self.y;
        let mut under = self.width();
        while over.abs() > 1 << 40 {
            over /= 2;
            under /= 2;
        }
        let per_pace = over * Self::UNITS_A_QUARTER * 1_000 / i64::from(pace.max(1));
        i32::try_from(per_pace.checked_div(under)?).ok()
    }

    /// How many standard errors a slope is from none, in thousandths.
    fn standard_errors(&self, per_mille: i32, pace: u32, scatter: u64) -> u64 {
        let width = (self.width().unsigned_abs() / self.count.unsigned_abs().max(1)).isqrt();
        let slope = u64::from(per_mille.unsigned_abs().min(10_000)) * u64::from(pace);
        slope.saturating_mul(width) / (scatter.max(1) * Self::UNITS_A_QUARTER.unsigned_abs())
    }
}
