//! Least squares: one pace and one drift for all segments, and a start for each.
//!
//! The robust fit of [`tempo`](super::tempo) finds out which notes stand out and where time was
//! lost. Of what remains, least squares is the estimate whose errors are known: the sum of
//! squares is distributed as χ² with the points less the fitted numbers as degrees of freedom,
//! if hands scatter normally. The median fit is not: with eight notes its sum of squares is too
//! large by a tenth or more, and the limits of certainty that are computed from it are wrong.
//!
//! Positions are shares of the chunk's length in 4,096ths, so that sums fit 64 bits and their
//! products 128.

use super::tempo::{Break, Numbers, Point, lasting};
use crate::units::Ticks;

/// Shares of the length of a chunk.
const WHOLE: i64 = 4_096;

/// A quarter of the variance of the square is left when the position is taken off it, for
/// points spread evenly; where less than a two-hundredth of both together is left (one in
/// sixteen, for one even segment), pace and drift cannot be told apart.
const LEAST_APART: i128 = 200;

/// Which points a fit counts.
pub(crate) type Counted<'a> = &'a dyn Fn(usize) -> bool;

/// The fit.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    /// For each point, how much later it was played than the fit says, in microseconds.
    pub(crate) residuals: Numbers,
    /// Sum of their squares over the points that count.
    pub(crate) squares: u64,
    /// Points that count, less the fitted numbers.
    pub(crate) degrees: u32,
    /// Change of the length of a beat from the first point to the last.
    pub(crate) drift: Option<Drift>,
}

/// A drift before it is known how much the hands scatter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Drift {
    /// In per mille of the pace; slower is positive.
    pub(crate) per_mille: i32,
    /// Its standard error for a scatter of one second, in per mille.
    pub(crate) error_a_second: u64,
}

/// Sums of products of deviations from the means of the segments.
#[derive(Default)]
struct Sums {
    xx: i64,
    xq: i64,
    qq: i64,
    xt: i64,
    qt: i64,
}

/// What is known of a point: its position, that squared, and how late it was for the pace.
#[derive(Clone, Copy, Default)]
struct Place {
    x: i64,
    q: i64,
    late: i64,
}

/// Fits `points`, which were played at about `pace`, with a new start at each of `breaks`.
/// `with_drift` says whether a drift is fitted, too.
pub(crate) fn fit(
    points: &[Point],
    pace: u32,
    breaks: &[Break],
    with_drift: bool,
    counted: Counted<'_>,
) -> Fit {
    let start = points.first().map_or(Ticks::ZERO, |point| point.written);
    let end = points.last().map_or(Ticks::ZERO, |point| point.written);
    let length = end.since(start);
    let place = |point: &Point| -> Place {
        let passed = point.written.since(start);
        let x = i64::from(passed.get()) * WHOLE / i64::from(length.get().max(1));
        let late = i64::from(point.played.as_micros()) - i64::from(lasting(passed, pace));
        Place { x, q: x * x / WHOLE, late }
    };
    let segments = || segments(points.len(), breaks);
    let mut sums = Sums::default();
    let (mut number, mut starts) = (0, 0);
    for segment in segments() {
        let inside = || {
            let part = points.get(segment.clone()).unwrap_or(&[]).iter();
            segment.clone().zip(part).filter(|(index, _)| counted(*index)).map(|(_, p)| place(p))
        };
        let Some((count, mean)) = mean(inside()) else {
            continue;
        };
        number += count;
        starts += 1;
        for place in inside() {
            let (x, q, late) = (place.x - mean.x, place.q - mean.q, place.late - mean.late);
            sums.xx += x * x;
            sums.xq += x * q;
            sums.qq += q * q;
            sums.xt = sums.xt.saturating_add(x.saturating_mul(late));
            sums.qt = sums.qt.saturating_add(q.saturating_mul(late));
        }
    }
    let (slope, bend, apart) = solve(&sums, with_drift);
    let mut fit = Fit { residuals: Numbers::new(), squares: 0, degrees: 0, drift: None };
    for segment in segments() {
        let part = points.get(segment.clone()).unwrap_or(&[]);
        let rest = |place: Place| {
            place.late - (slope * i128::from(place.x) + bend * i128::from(place.q)) as i64 / WHOLE
        };
        let inside = segment.clone().zip(part).filter(|(index, _)| counted(*index));
        let of = |place: Place| Place { late: rest(place), ..place };
        // Where no point of a segment counts, its own mean has to do.
        let centre = mean(inside.map(|(_, point)| of(place(point))))
            .or_else(|| mean(part.iter().map(|point| of(place(point)))))
            .map_or(0, |(_, mean)| mean.late);
        for (index, point) in segment.zip(part) {
            let residual = rest(place(point)) - centre;
            if counted(index) {
                fit.squares = fit.squares.saturating_add(residual.unsigned_abs().pow(2));
            }
            let held = residual.clamp(i64::from(-i32::MAX), i64::from(i32::MAX));
            let _ = fit.residuals.push(held as i32);
        }
    }
    fit.degrees = (number as u32).saturating_sub(starts + 1 + u32::from(apart.is_some()));
    let whole = i128::from(lasting(length, pace).max(1));
    fit.drift = apart.map(|apart| {
        // The pace goes from 1 − d/2 to 1 + d/2 of itself: the share x is late by
        // (x² − x) · d / 2, so d is twice the bend.
        let per_mille = (2_000 * bend / whole).clamp(-1_000_000, 1_000_000) as i32;
        // The variance of the bend is the scatter's times xx / (xx · qq − xq²).
        let squared = (i128::from(sums.xx) << 48) / apart;
        let root = (squared.unsigned_abs().min(u128::from(u64::MAX)) as u64).isqrt();
        // 2^48 under the root, and two positions of 4,096ths: 2^12 remain.
        let error = 2_000_000_000_i128 * i128::from(root) / (whole << 12);
        Drift { per_mille, error_a_second: error.clamp(0, i128::from(u32::MAX)) as u64 }
    });
    fit
}

/// Slope and bend in microseconds over the whole length, and how far apart the two can be told
/// (`None` if no bend was fitted).
fn solve(sums: &Sums, with_drift: bool) -> (i128, i128, Option<i128>) {
    let whole = i128::from(WHOLE);
    let [xx, xq, qq, xt, qt] = [sums.xx, sums.xq, sums.qq, sums.xt, sums.qt].map(i128::from);
    let apart = xx * qq - xq * xq;
    if with_drift && apart > 0 && apart * LEAST_APART >= xx * qq {
        let slope = (xt * qq - qt * xq) * whole / apart;
        let bend = (qt * xx - xt * xq) * whole / apart;
        return (slope, bend, Some(apart));
    }
    let slope = (xt * whole).checked_div(xx).unwrap_or(0);
    (slope, 0, None)
}

fn mean(places: impl Iterator<Item = Place>) -> Option<(i64, Place)> {
    let (mut count, mut sum) = (0, Place::default());
    for place in places {
        count += 1;
        sum.x += place.x;
        sum.q += place.q;
        sum.late = sum.late.saturating_add(place.late);
    }
    let part = |sum: i64| (sum + count / 2).div_euclid(count);
    (count > 0).then(|| (count, Place { x: part(sum.x), q: part(sum.q), late: part(sum.late) }))
}

/// Ranges of points between breaks.
pub(crate) fn segments(
    points: usize,
    breaks: &[Break],
) -> impl Iterator<Item = core::ops::Range<usize>> + '_ {
    let starts = core::iter::once(0).chain(breaks.iter().map(|b| b.point));
    let ends = breaks.iter().map(|b| b.point).chain([points]);
    starts.zip(ends).map(|(start, end)| start..end)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::units::Offset;
    use std::vec::Vec;

    fn points(late: impl Fn(usize) -> i32) -> Vec<Point> {
        (0..9)
            .map(|index| Point {
                written: Ticks::new(index as u32 * Ticks::PER_QUARTER),
                played: Offset::from_micros(index as i32 * 500_000 + late(index)),
                note: index as u16,
            })
            .collect()
    }

    #[test]
    fn another_pace_and_a_drift_leave_nothing() {
        // A beat 2 ms longer, and a drift of 100 per mille over eight beats: 200 ms · (x² − x).
        let bend = |i: usize| (200_000 * (i * i) / 64) as i32 - (200_000 * i / 8) as i32;
        let played = points(|i| 2_000 * i as i32 + bend(i));
        let fit = fit(&played, 500_000, &[], true, &|_| true);
        assert!(fit.residuals.iter().all(|residual| residual.abs() < 100), "{:?}", fit.residuals);
        assert_eq!(fit.degrees, 6);
        let drift = fit.drift.unwrap();
        assert!((99..=100).contains(&drift.per_mille), "{drift:?}");
        // By hand: the variance of the bend of nine even points is 1 / 0.2 times the scatter's
        // (Σ(x² − mean)² less what x explains: 308 / 64² · …), so twice its root over 4 s.
        let bend_error = (180.0 / (9.0 * 80.0 * 77.0_f64)).sqrt() * 64.0;
        let expected = 2.0 * bend_error / 4.0 * 1_000.0;
        assert!((drift.error_a_second as f64 - expected).abs() < expected / 50.0, "{drift:?}");
    }

    #[test]
    fn a_break_takes_a_degree_and_a_point_left_out_another() {
        let played = points(|i| if i < 4 { 0 } else { 150_000 } + if i == 6 { 90_000 } else { 0 });
        let pause = [Break { point: 4, excess: Offset::from_millis(150) }];
        let fit = fit(&played, 500_000, &pause, false, &|index| index != 6);
        assert_eq!(fit.degrees, 5);
        assert_eq!(fit.squares, 0);
        assert_eq!(fit.residuals.get(6), Some(&90_000));
    }
}
