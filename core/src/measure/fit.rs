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

use super::onsets::{Break, Numbers, Point, segments};
use crate::arithmetic::{long_product, product, quotient, root};
use crate::limits::EXPECTED_NOTES;
use crate::units::{Ticks, lasting};
use core::ops::Range;
use heapless::Vec;

/// Shares of the length of a chunk.
pub(crate) const WHOLE: i64 = 1 << WHOLE_BITS;
const WHOLE_BITS: u32 = 12;

/// A quarter of the variance of the square is left when the position is taken off it, for
/// points spread evenly; where less than a two-hundredth of both together is left (one in
/// sixteen, for one even segment), pace and drift cannot be told apart.
const LEAST_APART: i128 = 200;

/// The most that slope and bend are, in microseconds over the whole length.
const MOST: i128 = 1 << 48;

/// Which points a fit counts.
pub(crate) type Counted<'a> = &'a dyn Fn(usize) -> bool;

/// What a fit says, beside the residuals.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fitted {
    /// Sum of the squares of the residuals over the points that count.
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
#[derive(Clone, Copy, Default)]
struct Sums {
    xx: i64,
    xq: i64,
    qq: i64,
    xt: i64,
    qt: i64,
}

/// What is known of a point: its position, that squared, and how late it was for the pace.
#[derive(Clone, Copy, Default)]
pub(crate) struct PlacedPoint {
    x: i16,
    q: i16,
    /// In microseconds; half an hour off is as far as it goes.
    late: i32,
}

impl PlacedPoint {
    /// What share of the chunk's length lies before it, in 4,096ths.
    pub(crate) fn share(&self) -> i64 {
        self.x.into()
    }
}

/// The mean of some places.
#[derive(Clone, Copy, Default)]
struct Mean {
    x: i64,
    q: i64,
    late: i64,
}

/// The points of an attempt, prepared once for all fits of it: finding their places takes
/// divisions, which the smallest processors do bit by bit.
pub(crate) struct PlacedPoints {
    list: Vec<PlacedPoint, EXPECTED_NOTES>,
    /// From the first point to the last, in microseconds.
    lasts: i32,
}

impl PlacedPoints {
    /// No points.
    pub(crate) const fn new() -> Self {
        Self { list: Vec::new(), lasts: 1 }
    }

    /// The places of `points`, which were played at about `pace`.
    #[cfg(test)]
    pub(crate) fn of(points: &[Point], pace: u32) -> Self {
        let mut places = Self::new();
        places.put(points, pace);
        places
    }

    /// Puts the places of `points`, which were played at about `pace`, in place of what there is.
    /// In place, as they are too large to stand on the stack twice.
    #[inline(never)]
    pub(crate) fn put(&mut self, points: &[Point], pace: u32) {
        let start = points.first().map_or(Ticks::ZERO, |point| point.written);
        let end = points.last().map_or(Ticks::ZERO, |point| point.written);
        let length = end.since(start).get().max(1);
        let place = |point: &Point| -> PlacedPoint {
            let passed = point.written.since(start);
            // At most the whole, because points are in order.
            let x = (u64::from(passed.get()) * WHOLE as u64 / u64::from(length)).min(WHOLE as u64);
            let late = point.played.as_micros().saturating_sub(lasting(passed, pace));
            PlacedPoint { x: x as i16, q: (x * x / WHOLE as u64) as i16, late }
        };
        self.list.clear();
        self.list.extend(points.iter().map(place));
        self.lasts = lasting(Ticks::new(length), pace).max(1);
    }

    /// How many points there are.
    pub(crate) fn len(&self) -> usize {
        self.list.len()
    }

    /// Each of them.
    pub(crate) fn list(&self) -> &[PlacedPoint] {
        &self.list
    }

    /// What a fit leaves, with a new start at each of `breaks`. `with_drift` says whether a drift
    /// is fitted, too.
    pub(crate) fn fit(&self, breaks: &[Break], with_drift: bool, counted: Counted<'_>) -> Fitted {
        self.fit_with(breaks, with_drift, counted, &mut |_| {})
    }

    /// The sum of squares that it leaves. Not inlined, so that the rest of a fit leaves the stack.
    #[inline(never)]
    pub(crate) fn squares(&self, breaks: &[Break], with_drift: bool, counted: Counted<'_>) -> u64 {
        self.fit(breaks, with_drift, counted).squares
    }

    /// The same as [`fit`](Self::fit), and for each point how much later it was played than the fit
    /// says, in microseconds.
    pub(crate) fn residuals(
        &self,
        breaks: &[Break],
        with_drift: bool,
        counted: Counted<'_>,
        residuals: &mut Numbers,
    ) -> Fitted {
        residuals.clear();
        self.fit_with(breaks, with_drift, counted, &mut |residual| {
            let held = residual.clamp(i64::from(-i32::MAX), i64::from(i32::MAX));
            // There is room: as much as for the points.
            let _ = residuals.push(held as i32);
        })
    }

    fn fit_with(
        &self,
        breaks: &[Break],
        with_drift: bool,
        counted: Counted<'_>,
        tell: &mut dyn FnMut(i64),
    ) -> Fitted {
        let segments = || segments(self.list.len(), breaks);
        let part = |segment: &Range<usize>| self.list.get(segment.clone()).unwrap_or(&[]);
        let mut sums = Sums::default();
        let (mut number, mut starts) = (0, 0);
        for segment in segments() {
            let inside = || {
                let places = segment.clone().zip(part(&segment));
                places.filter(|(index, _)| counted(*index)).map(|(_, place)| place)
            };
            let Some((count, mean)) = mean(inside()) else {
                continue;
            };
            number += count;
            starts += 1;
            for place in inside() {
                let (x, q) = (i64::from(place.x) - mean.x, i64::from(place.q) - mean.q);
                let late = i64::from(place.late) - mean.late;
                sums.xx += x * x;
                sums.xq += x * q;
                sums.qq += q * q;
                // Below 2^13 · 2^33, 256 times.
                sums.xt += x * late;
                sums.qt += q * late;
            }
        }
        let (slope, bend, apart) = solve(&sums, with_drift);
        // Both are microseconds over the whole length; what is far beyond an hour is nonsense, and
        // held so that its product with a position fits.
        let [steep, bent] = [slope, bend].map(|value| value.clamp(-MOST, MOST) as i64);
        let rest = |place: &PlacedPoint| {
            let fit = (steep * i64::from(place.x) + bent * i64::from(place.q)) / WHOLE;
            i64::from(place.late) - fit
        };
        let mut squares = 0_u64;
        for segment in segments() {
            let places = || segment.clone().zip(part(&segment));
            let mean_rest = |every: bool| {
                let these = places().filter(|(index, _)| every || counted(*index));
                let (count, sum) = these.fold((0, 0), |(count, sum): (i64, i64), (_, place)| {
                    (count + 1, sum + rest(place))
                });
                (count > 0).then(|| rounded(sum, count))
            };
            // Where no point of a segment counts, its own mean has to do.
            let centre = mean_rest(false).or_else(|| mean_rest(true)).unwrap_or(0);
            for (index, place) in places() {
                let residual = rest(place) - centre;
                if counted(index) {
                    let far = residual.unsigned_abs();
                    squares = squares.saturating_add(product(far, far));
                }
                tell(residual);
            }
        }
        let degrees = (number as u32).saturating_sub(starts + 1 + u32::from(apart.is_some()));
        let drift = apart.map(|apart| self.drift(bend, apart, &sums));
        Fitted { squares, degrees, drift }
    }

    fn drift(&self, bend: i128, apart: i128, sums: &Sums) -> Drift {
        let whole = i128::from(self.lasts);
        // The pace goes from 1 − d/2 to 1 + d/2 of itself: the share x is late by
        // (x² − x) · d / 2, so d is twice the bend.
        let per_mille = quotient(2_000 * bend, whole).clamp(-1_000_000, 1_000_000) as i32;
        // The variance of the bend is the scatter's times xx / (xx · qq − xq²).
        let squared = quotient(i128::from(sums.xx) << 48, apart);
        let root = root(squared.unsigned_abs().min(u128::from(u64::MAX)) as u64);
        // 2^48 under the root, and two positions of 4,096ths: 2^12 remain.
        let error = quotient(2_000_000_000 * i128::from(root), whole << 12);
        Drift { per_mille, error_a_second: error.clamp(0, i128::from(u32::MAX)) as u64 }
    }
}

/// Slope and bend in microseconds over the whole length, and how far apart the two can be told
/// (`None` if no bend was fitted).
fn solve(sums: &Sums, with_drift: bool) -> (i128, i128, Option<i128>) {
    let Sums { xx, xq, qq, xt, qt } = *sums;
    let across = |a, b, c, d| long_product(a, b) - long_product(c, d);
    let apart = across(xx, qq, xq, xq);
    if with_drift && apart > 0 && apart * LEAST_APART >= long_product(xx, qq) {
        let slope = quotient(across(xt, qq, qt, xq) << WHOLE_BITS, apart);
        let bend = quotient(across(qt, xx, xt, xq) << WHOLE_BITS, apart);
        return (slope, bend, Some(apart));
    }
    (quotient(i128::from(xt) << WHOLE_BITS, xx.into()), 0, None)
}

fn mean<'a>(places: impl Iterator<Item = &'a PlacedPoint>) -> Option<(i64, Mean)> {
    let (mut count, mut sum) = (0, Mean::default());
    for place in places {
        count += 1;
        sum.x += i64::from(place.x);
        sum.q += i64::from(place.q);
        sum.late += i64::from(place.late);
    }
    let part = |sum: i64| rounded(sum, count);
    (count > 0).then(|| (count, Mean { x: part(sum.x), q: part(sum.q), late: part(sum.late) }))
}

/// To the nearest whole number, halves up. `count` is positive.
fn rounded(sum: i64, count: i64) -> i64 {
    (sum + count / 2).div_euclid(count)
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
        let mut left = Numbers::new();
        let fit = PlacedPoints::of(&played, 500_000).residuals(&[], true, &|_| true, &mut left);
        assert!(left.iter().all(|residual| residual.abs() < 100), "{left:?}");
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
        let mut left = Numbers::new();
        let places = PlacedPoints::of(&played, 500_000);
        let fit = places.residuals(&pause, false, &|index| index != 6, &mut left);
        assert_eq!(fit.degrees, 5);
        assert_eq!(fit.squares, 0);
        assert_eq!(left.get(6), Some(&90_000));
        assert_eq!(places.fit(&pause, false, &|index| index != 6).squares, 0);
    }
}
