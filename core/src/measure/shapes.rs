//! Which shape the onsets have: what of several explanations leaves least.
//!
//! Each moves the onsets away from a steady tempo by a shape of its own, so many times:
//!
//! * a *drift* bends them;
//! * a *pause* shifts all that come after it;
//! * one *note* off the beat moves alone;
//! * a *stretch* at another pace tilts its own onsets, and shifts all that come after it.
//!
//! How many times is least squares, beside the player's own start and pace. Explanations are
//! compared by Schwarz's criterion (1978): n · log₂ of the sum of squares that is left, and log₂ n
//! for each number that was chosen, which are the size and each place. The smaller is the better.
//! Scatter, which every shape explains in part, is ruled out by what the best of so many stretches
//! gains by chance (see [`Shapes::stretch`]).

use super::fit::{Counted, PlacedPoint, PlacedPoints};
use super::onsets::Numbers;
use super::stretch::FEWEST_IN_A_STRETCH;
use crate::arithmetic::{product, root};

/// Onsets are told apart to a millisecond, in microseconds: less is not worth explaining.
const LEAST: u64 = 1_000;

/// What one onset may be off, in microseconds, so that the sums fit.
const MOST: i32 = 20_000_000;

/// How high the steps of pauses and single notes are reckoned.
const STEP: i64 = 1_024;

/// Numbers that are chosen: for a pause and for a note the size and the place, for a stretch the
/// size and both ends.
pub(crate) const OF_A_PLACE: u32 = 2;
const OF_A_STRETCH: u32 = 3;
/// A difference of the criterion, in 256ths, that makes the one ten times as likely as the other:
/// 2 · log₂ 10. A stretch is told only then: it is the rarer thing. Our default.
const TEN_TO_ONE: u64 = 1_701;
/// The size of a drift.
pub(crate) const OF_A_DRIFT: u32 = 1;

/// A stretch at another pace: its first and last point, and how its onsets tilt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tilt {
    /// The first point.
    pub(crate) first: usize,
    /// The last one.
    pub(crate) last: usize,
    /// How late a point is for its share of the length beyond the first: microseconds over shares.
    slope: (i64, i64),
    /// What it takes off the sum of squares.
    gain: u64,
}

impl Tilt {
    /// How much later than without it a point comes that lies so many shares beyond the first, at
    /// most as many as the last.
    pub(crate) fn late(&self, shares: i64) -> i64 {
        shares.saturating_mul(self.slope.0).checked_div(self.slope.1).unwrap_or(0)
    }

    /// The sum of the squares of its shape, in shares: what its slope is known by.
    pub(crate) fn width(&self) -> u64 {
        self.slope.1.unsigned_abs()
    }
}

/// The onsets of an attempt beside a steady tempo.
pub(crate) struct Shapes<'a> {
    list: &'a [PlacedPoint],
    /// Which of them count.
    counted: Counted<'a>,
    count: i64,
    /// What a steady tempo leaves of each, in microseconds.
    left: &'a Numbers,
    squares: u64,
    /// The mean place, rounded down, and the sum of the distances from it, which that leaves.
    middle: i64,
    beyond: i64,
    /// The sum of the squares of the distances, over 256.
    spread: i64,
}

/// Sums over a shape: of its heights, of their squares, of them times the place and times what is
/// left of the onset.
#[derive(Clone, Copy, Default)]
struct Sums {
    heights: i64,
    squares: i64,
    places: i64,
    left: i64,
}

impl<'a> Shapes<'a> {
    /// The onsets at `places`, as far as they count; `left` is room for what a steady tempo leaves of
    /// them.
    pub(crate) fn of(
        places: &'a PlacedPoints,
        counted: Counted<'a>,
        left: &'a mut Numbers,
    ) -> Self {
        let squares = places.residuals(&[], false, counted, left).squares;
        for late in left.iter_mut() {
            *late = (*late).clamp(-MOST, MOST);
        }
        let list = places.list();
        let shares = || {
            let counted = list.iter().enumerate().filter(|(index, _)| counted(*index));
            counted.map(|(_, place)| place.share())
        };
        let count = shares().count() as i64;
        let sum: i64 = shares().sum();
        let middle = sum.checked_div(count).unwrap_or(0);
        let beyond = sum - middle * count;
        let spread: i64 = shares().map(|share| (share - middle).pow(2)).sum();
        Self { list, counted, count, left, squares, middle, beyond, spread: spread / 256 }
    }

    /// The onsets: their numbers, places, what is left of them, and whether they count.
    fn onsets(
        &self,
    ) -> impl DoubleEndedIterator<Item = (usize, i64, i64, bool)> + ExactSizeIterator {
        let onsets = self.list.iter().zip(self.left).enumerate();
        onsets.map(|(at, (place, &left))| (at, place.share(), left.into(), (self.counted)(at)))
    }

    /// The stretch that explains most, if no drift, no pause, no single note and nothing of
    /// `otherwise` explains the onsets a tenth as well, nor scatter: the sums of squares that others
    /// leave, and how many numbers they chose. And whether scatter is ruled out for certain.
    ///
    /// Scatter of n onsets shows a stretch that takes off so much of the sum of squares in one case
    /// of a hundred: 14 + 140 / (n − 3) times the mean square of the rest; in one case of ten 10 +
    /// 25 / (n − 3) times. Found by trying, from 8 onsets (42, 15) to 128 (14, 9), evenly spaced and
    /// normally distributed.
    pub(crate) fn stretch(&self, otherwise: &[(u64, u32)]) -> Option<(Tilt, bool)> {
        let tilt = self.best_tilt()?;
        let degrees = (self.count as u64).checked_sub(3).filter(|&degrees| degrees > 0)?;
        let rest = self.rest(tilt.gain);
        // gain / (rest / degrees) > times.
        let rules_out = |times: u64| tilt.gain > product(rest / degrees, times);
        if !rules_out(10 + 25 / degrees) {
            return None;
        }
        let ours = self.criterion(rest, OF_A_STRETCH).saturating_add(TEN_TO_ONE);
        let one = self.criterion(self.rest(self.best_step()), OF_A_PLACE);
        let mut others = otherwise.iter().map(|&(rest, chosen)| self.criterion(rest, chosen));
        let is_best = ours < one && others.all(|theirs| ours < theirs);
        is_best.then_some((tilt, rules_out(14 + 140 / degrees)))
    }

    fn rest(&self, gain: u64) -> u64 {
        self.squares.saturating_sub(gain)
    }

    /// Schwarz's criterion, in 256ths.
    fn criterion(&self, rest: u64, chosen: u32) -> u64 {
        let count = self.count.unsigned_abs();
        let rest = rest.max(count * LEAST * LEAST);
        count * u64::from(log2(rest)) + u64::from(chosen) * u64::from(log2(count))
    }

    /// What a shape takes off the sum of squares, and what of it start and pace leave: so many times
    /// the first sum over the second.
    fn taken(&self, sums: &Sums) -> Option<(u64, i64)> {
        let count = self.count;
        let places = sums.places - (sums.heights * self.beyond).checked_div(count)?;
        let beside = (places / 16).pow(2).checked_div(self.spread)?;
        let width = sums.squares - (sums.heights.pow(2)).checked_div(count)? - beside;
        // Where nothing is left, start and pace make the same shape.
        if width * 256 <= sums.squares {
            return None;
        }
        let height = sums.left.unsigned_abs() / root(width.unsigned_abs()).max(1);
        Some((product(height, height), width))
    }

    /// What the best pause or single note takes off.
    fn best_step(&self) -> u64 {
        let mut best = 0;
        let mut after = Sums::default();
        for (_, share, left, _) in self.onsets().rev().filter(|(.., counts)| *counts) {
            let alone = Sums {
                heights: STEP,
                squares: STEP * STEP,
                places: STEP * (share - self.middle),
                left: STEP * left,
            };
            after = after.and(&alone);
            for sums in [&alone, &after] {
                best = best.max(self.taken(sums).map_or(0, |(gain, _)| gain));
            }
        }
        best
    }

    /// The stretch that takes off most, of those that have as many onsets beside them.
    fn best_tilt(&self) -> Option<Tilt> {
        let mut best: Option<Tilt> = None;
        // Of what lies from here on: onsets, their places, what is left of them.
        let (mut number, mut places, mut lefts) = (0_i64, 0_i64, 0_i64);
        for (_, share, left, _) in self.onsets().filter(|(.., counts)| *counts) {
            number += 1;
            places += share - self.middle;
            lefts += left;
        }
        let most = self.list.len().div_ceil(2);
        for (first, from, start, starts) in self.onsets() {
            if !starts {
                continue;
            }
            let (mut after, mut places_after, mut lefts_after) = (number, places, lefts);
            let mut inside = Sums::default();
            for (last, share, left, counts) in self.onsets().skip(first).take(most) {
                if !counts {
                    continue;
                }
                let (height, at) = (share - from, share - self.middle);
                inside = inside.and(&Sums {
                    heights: height,
                    squares: height * height,
                    places: height * at,
                    left: height * left,
                });
                after -= 1;
                places_after -= at;
                lefts_after -= left;
                if last - first + 1 < FEWEST_IN_A_STRETCH {
                    continue;
                }
                let sums = inside.and(&Sums {
                    heights: height * after,
                    squares: height * height * after,
                    places: height * places_after,
                    left: height * lefts_after,
                });
                let Some((gain, width)) = self.taken(&sums) else { continue };
                if best.is_none_or(|best| gain > best.gain) {
                    best = Some(Tilt { first, last, slope: (sums.left, width), gain });
                }
            }
            number -= 1;
            places -= from - self.middle;
            lefts -= start;
        }
        best
    }
}

impl Sums {
    const fn and(&self, other: &Self) -> Self {
        Self {
            heights: self.heights + other.heights,
            squares: self.squares + other.squares,
            places: self.places + other.places,
            left: self.left + other.left,
        }
    }
}

/// log₂ in 256ths, rounded down: the fraction bit by bit, by squaring. 0 of 0.
fn log2(value: u64) -> u32 {
    let Some(whole) = value.checked_ilog2() else { return 0 };
    // From 2^31 up to 2^32: the value over the power of two below it.
    let mut part = if whole > 31 { value >> (whole - 31) } else { value << (31 - whole) };
    let mut log = whole;
    for _ in 0..8 {
        part = (part * part) >> 31;
        let bit = u32::from(part >= 1 << 32);
        log = 2 * log + bit;
        part >>= bit;
    }
    log
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::onsets::{Point, Points};
    use crate::units::{Offset, Ticks};

    /// Sixteen notes, half a second from one to the next, so many milliseconds late.
    fn places(late: impl Fn(i32) -> i32) -> PlacedPoints {
        let point = |index: i32| Point {
            written: Ticks::new(index.unsigned_abs() * Ticks::PER_QUARTER),
            played: Offset::from_millis(index * 500 + late(index)),
            note: index as u16,
        };
        let points: Points = (0..16).map(point).collect();
        PlacedPoints::of(&points, 500_000)
    }

    /// Hands that scatter by some milliseconds.
    fn hands(index: i32) -> i32 {
        [3, -5, 1, 6, -2, -6, 4, 0, 5, -3, -1, 2, -4, 6, -5, 1][index as usize]
    }

    fn stretch(late: impl Fn(i32) -> i32) -> Option<(usize, usize)> {
        let places = places(|index| late(index) + hands(index));
        let drifting = places.fit(&[], true, &|_| true).squares;
        let found =
            Shapes::of(&places, &|_| true, &mut Numbers::new()).stretch(&[(drifting, OF_A_DRIFT)]);
        found.filter(|(_, is_certain)| *is_certain).map(|(tilt, _)| (tilt.first, tilt.last))
    }

    #[test]
    fn a_stretch_is_found_where_it_is() {
        assert_eq!(stretch(|index| index.clamp(5, 10) * 40), Some((5, 10)));
        assert_eq!(stretch(|index| index.clamp(5, 10) * -40), Some((5, 10)));
        let exact = places(|index| index.clamp(5, 10) * 40);
        let (tilt, _) = Shapes::of(&exact, &|_| true, &mut Numbers::new()).stretch(&[]).unwrap();
        // Five fifteenths of the length: 200 ms.
        assert!((tilt.late(4_096 / 3) - 200_000).abs() < 500, "{tilt:?}");
    }

    #[test]
    fn what_something_else_explains_is_no_stretch() {
        assert_eq!(stretch(|_| 0), None);
        assert_eq!(stretch(|index| if index == 7 { 200 } else { 0 }), None, "one note");
        assert_eq!(stretch(|index| if index > 7 { 200 } else { 0 }), None, "a pause");
        assert_eq!(stretch(|index| index * index * 5), None, "a drift");
        assert_eq!(stretch(|index| hands(15 - index) * 10), None, "scatter");
    }

    #[test]
    fn logarithms_are_good_to_a_256th() {
        for (value, log) in [(0, 0), (1, 0), (2, 256), (3, 405), (1_000, 2_551), (u64::MAX, 16_383)]
        {
            assert_eq!(log2(value), log, "{value}");
        }
    }
}
