//! The player's own tempo, and where time was lost or gained.
//!
//! A hesitation shifts all later notes, so an ordinary fit of onsets against the score takes
//! it for a slower tempo. The fit here is robust and goes in three steps:
//!
//! 1. the pace is the median, over neighbouring events, of time passed over time written;
//! 2. a *break* is an interval that differs from what that pace predicts, and that its neighbour
//!    does not make up for; breaks cut the events into segments. It is one for certain if it
//!    differs by more than the limit for hesitations and by 4 · 1.4826 times the median
//!    deviation. A smaller one (a quarter of the limit, 3 times the deviation) is one if the fit
//!    with it is so much better than without that chance hardly explains it: a pause of half
//!    the limit would otherwise be taken for unsteadiness, which it is not;
//! 3. the pace is the median slope over all pairs of events within a segment (Theil 1950,
//!    Sen 1968), and each segment has its own start, the median of time minus pace times
//!    position.
//!
//! Unit of the pace: microseconds a quarter note. The median slope bears up to 29.3 % of
//! strays (Sen 1968). The numbers 4, 3 and a quarter are our defaults. An earlier rule asked for
//! 30 % of the interval; it hid pauses that the levels `steady` and `performance` do not allow.

use super::fit::PlacedPoints;
use super::onsets::{BREAKS, Break, Breaks, FEWEST_BESIDE_DRIFT, Numbers, Point, segments};
use super::statistics::{median, robust_deviation_of};
use crate::arithmetic::product;
use crate::limits::EXPECTED_NOTES;
use crate::tolerance::TimeLimit;
use crate::units::{Offset, Ticks, lasting};
use heapless::Vec;

/// The fit.
#[derive(Clone, Debug)]
pub struct Tempo {
    /// Microseconds a quarter note.
    pub pace: u32,
    /// Where time was lost or gained.
    pub breaks: Breaks,
    /// How many points were fitted.
    pub points: usize,
}

impl Tempo {
    /// Segments of the fit: ranges of points between breaks.
    pub fn segments(&self) -> impl Iterator<Item = core::ops::Range<usize>> + '_ {
        segments(self.points, &self.breaks)
    }
}

/// Fits the player's own tempo to `points`, which are in order of position, no two at the
/// same. `hesitation` is what the level allows as time lost. `None` for fewer than three: two
/// points fit any tempo.
// Not inlined, as others here: scratch numbers leave the stack when they are done with.
#[inline(never)]
pub fn own_tempo(points: &[Point], hesitation: TimeLimit) -> Option<Tempo> {
    if points.len() < 3 {
        return None;
    }
    let first_pace = median_pace(points)?;
    let breaks = find_breaks(points, first_pace, hesitation);
    let mut tempo = Tempo { pace: first_pace, breaks, points: points.len() };
    if let Some(pace) = median_slope(points, &tempo) {
        tempo.pace = pace;
    }
    Some(tempo)
}

/// For each point, how much later it was played than the fit says, in microseconds, written to
/// `all`; each segment is centred on its median.
#[inline(never)]
pub fn residuals(points: &[Point], tempo: &Tempo, all: &mut Numbers) {
    let start = points.first().map_or(Ticks::ZERO, |point| point.written);
    all.clear();
    all.extend(points.iter().map(|point| {
        let steady = lasting(point.written.since(start), tempo.pace);
        point.played.as_micros().saturating_sub(steady)
    }));
    for segment in tempo.segments() {
        let Some(part) = all.get_mut(segment) else {
            continue;
        };
        let mut sorted: Numbers = part.iter().copied().collect();
        let centre = median(&mut sorted).unwrap_or(0);
        for value in part {
            *value = value.saturating_sub(centre);
        }
    }
}

fn intervals(points: &[Point]) -> impl Iterator<Item = (Ticks, i32)> + '_ {
    points.iter().zip(points.iter().skip(1)).map(|(a, b)| {
        let played = b.played.as_micros().saturating_sub(a.played.as_micros());
        (b.written.since(a.written), played)
    })
}

#[inline(never)]
fn median_pace(points: &[Point]) -> Option<u32> {
    let mut paces: Numbers = intervals(points)
        .filter(|(written, _)| written.get() > 0)
        .map(|(written, played)| {
            let pace = i64::from(played) * i64::from(Ticks::PER_QUARTER) / i64::from(written.get());
            pace.clamp(0, i64::from(i32::MAX)) as i32
        })
        .collect();
    let pace = median(&mut paces)?;
    (pace > 0).then_some(pace.unsigned_abs())
}

fn find_breaks(points: &[Point], pace: u32, hesitation: TimeLimit) -> Breaks {
    let found = standing_out(points, pace, hesitation);
    confirmed(points, pace, &found)
}

/// Intervals that stand out, and whether each does so for certain.
type Found = Vec<(Break, bool), BREAKS>;

#[inline(never)]
fn standing_out(points: &[Point], pace: u32, hesitation: TimeLimit) -> Found {
    let excess: Numbers = intervals(points)
        .map(|(written, played)| played.saturating_sub(lasting(written, pace)))
        .collect();
    let noise = robust_deviation_of(&excess);
    let at = |index: usize| excess.get(index).copied().unwrap_or(0);
    // A neighbour that is at least half as much the other way makes up for it: that was one
    // early or late note, not a break.
    let made_up =
        |mine: i32, other: i32| (mine > 0) != (other > 0) && other.abs() >= mine.abs() / 2;
    let mut found = Found::new();
    let mut count = 0;
    for (index, (written, _)) in intervals(points).enumerate() {
        let mine = at(index);
        let limit = hesitation.at(Offset::from_micros(lasting(written, pace))).as_micros();
        let alone = !made_up(mine, at(index + 1))
            && !index.checked_sub(1).is_some_and(|before| made_up(mine, at(before)));
        if mine.abs() > (limit / 4).max(noise.saturating_mul(3)) && alone {
            count += 1;
            let this = Break { point: index + 1, excess: Offset::from_micros(mine) };
            let _ = found.push((this, mine.abs() > limit.max(noise.saturating_mul(4))));
        }
    }
    // Where a third of the intervals or more are out, the tempo changed; nobody paused. One
    // alone may be a pause however few there are.
    if count > 1 && count * 3 >= excess.len() {
        found.clear();
    }
    found
}

/// The breaks without which the fit is worse than chance explains: by so many times the mean
/// square of what the fit leaves. For one interval that is one case of a hundred, if there are
/// five degrees of freedom (F distribution: 16), and one of 170, if there are ten (12). Our
/// defaults, chosen on the table of error rates: with less, unsteady players were told of pauses.
#[inline(never)]
fn confirmed(points: &[Point], pace: u32, found: &Found) -> Breaks {
    if found.is_empty() {
        return Vec::new();
    }
    let with_drift = points.len() >= FEWEST_BESIDE_DRIFT;
    let mut places = PlacedPoints::new();
    places.put(points, pace);
    let squares = |breaks: &[Break]| {
        let fit = places.fit(breaks, with_drift, &|_| true);
        (fit.squares, fit.degrees)
    };
    let (with, degrees) = squares(&found.iter().map(|(this, _)| *this).collect::<Breaks>());
    let factor = if degrees < 8 { 16 } else { 12 };
    let mut kept: Breaks = Vec::new();
    for (index, (this, certain)) in found.iter().enumerate() {
        let better = || {
            let others = found.iter().enumerate().filter(|(other, _)| *other != index);
            let others: Breaks = others.map(|(_, (other, _))| *other).collect();
            let gained = squares(&others).0.saturating_sub(with);
            degrees > 0 && product(gained, degrees.into()) > product(with, factor)
        };
        if *certain || better() {
            let _ = kept.push(*this);
        }
    }
    kept
}

/// Slopes are looked for below this, in half microseconds a quarter note: eighteen minutes.
const MOST_HALVES: i64 = 1 << 31;

/// The median slope over all pairs of points, in whole microseconds a quarter note and at most
/// one of them off: Theil and Sen's estimate, as one piece. `None` for fewer than two points, and if
/// the time does not go on.
pub fn slope(points: &[Point]) -> Option<u32> {
    // Where to look first.
    let one_piece =
        Tempo { pace: median_pace(points).unwrap_or(1), breaks: Vec::new(), points: points.len() };
    median_slope(points, &one_piece)
}

/// The median slope over all pairs of points of a same segment, in whole microseconds a quarter
/// and at most one of them off: by halving the range and counting the slopes below.
///
/// A slope is below a pace if the later point lies below the line of that pace through the
/// earlier one. So of the points' heights over such a line those pairs are counted that stand in
/// the wrong order, which sorting does on the way (Cole, Salowe, Steiger and Szemerédi 1989).
// Not inlined: its scratch numbers leave the stack when it is done.
#[inline(never)]
fn median_slope(points: &[Point], tempo: &Tempo) -> Option<u32> {
    let mut heights: Vec<i64, EXPECTED_NOTES> = Vec::new();
    let mut below = |pace: i64| -> u32 {
        heights.clear();
        heights.extend(points.iter().map(|point| {
            // Doubled, so that the halves between whole paces can be told.
            let played = i64::from(point.played.as_micros()) * i64::from(2 * Ticks::PER_QUARTER);
            played - pace * i64::from(point.written.get())
        }));
        let mut below = 0;
        for segment in tempo.segments() {
            if let Some(part) = heights.get_mut(segment) {
                below += inversions(part);
            }
        }
        below
    };
    let pairs = |points: usize| (points * points.saturating_sub(1) / 2) as u32;
    let all: u32 = tempo.segments().map(|segment| pairs(segment.len())).sum();
    if all == 0 {
        return None;
    }
    // The slope of rank `rank` (from 0), in half microseconds a quarter, rounded down. It is looked for between two
    // first, where it most likely is: each look is a sum over all points in 64 bits, which the smallest processors
    // take long for.
    let mut of_rank = |rank: u32, (mut low, mut high): (i64, i64)| -> i64 {
        if low > 0 && below(low) > rank {
            (low, high) = (0, low);
        } else if high < MOST_HALVES && below(high) <= rank {
            (low, high) = (high, MOST_HALVES);
        }
        while high - low > 1 {
            let middle = (low + high) / 2;
            if below(middle) <= rank {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    };
    let near = 2 * i64::from(tempo.pace);
    let upper = of_rank(all / 2, (near - near / 64, (near + near / 64).min(MOST_HALVES)));
    let lower = |upper: i64| ((upper - 64).max(0), upper + 1);
    let halves = if all % 2 == 1 { 2 * upper } else { upper + of_rank(all / 2 - 1, lower(upper)) };
    // Quarters of a microsecond here; zero slopes are no tempo.
    u32::try_from((halves + 2) / 4).ok().filter(|&pace| pace > 0)
}

/// How many pairs stand in the wrong order, the larger before the smaller. Sorts the values.
fn inversions(values: &mut [i64]) -> u32 {
    let mut spare: Vec<i64, { EXPECTED_NOTES / 2 }> = Vec::new();
    let mut count = 0;
    let mut width = 1;
    while width < values.len() {
        for part in values.chunks_mut(2 * width) {
            let (left, right) = part.split_at(width.min(part.len()));
            // Sorted already, and nothing to count: most of a steady player's notes.
            if right.is_empty() || left.last() <= right.first() {
                continue;
            }
            spare.clear();
            // There is room: the left part of a pair is at most half of them all.
            let _ = spare.extend_from_slice(left);
            count += merge(&spare, part);
        }
        width *= 2;
    }
    count
}

/// Merges `left`, a copy of the first values of `all`, with the rest of `all`; both are sorted.
/// Gives how many pairs of one of each stood in the wrong order.
fn merge(left: &[i64], all: &mut [i64]) -> u32 {
    let (mut from_left, mut from_right) = (0, left.len());
    let mut count = 0;
    for to in 0..all.len() {
        let next = match (left.get(from_left), all.get(from_right)) {
            (Some(&one), Some(&other)) if other < one => {
                count += (left.len() - from_left) as u32;
                from_right += 1;
                other
            }
            (Some(&one), _) => {
                from_left += 1;
                one
            }
            // What is left of the right part stands where it belongs.
            (None, _) => break,
        };
        if let Some(place) = all.get_mut(to) {
            *place = next;
        }
    }
    count
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::measure::onsets::Points;
    use crate::tolerance::{PracticeLevel, Tolerances};

    const LIMIT: TimeLimit = Tolerances::of(PracticeLevel::Steady).hesitation;

    fn points(times: &[i32]) -> Points {
        times
            .iter()
            .enumerate()
            .map(|(index, &millis)| Point {
                written: Ticks::new(index as u32 * Ticks::PER_QUARTER),
                played: Offset::from_millis(millis),
                note: index as u16,
            })
            .collect()
    }

    fn late(points: &[Point], tempo: &Tempo) -> Numbers {
        let mut late = Numbers::new();
        residuals(points, tempo, &mut late);
        late
    }

    #[test]
    fn a_steady_player_has_no_residuals() {
        let played = points(&[0, 500, 1_000, 1_500, 2_000]);
        let tempo = own_tempo(&played, LIMIT).unwrap();
        assert_eq!(tempo.pace, 500_000);
        assert!(tempo.breaks.is_empty());
        assert!(late(&played, &tempo).iter().all(|&residual| residual == 0));
    }

    #[test]
    fn a_pause_is_not_a_slower_tempo() {
        let played = points(&[0, 250, 500, 750, 1_200, 1_450, 1_700, 1_950]);
        let tempo = own_tempo(&played, LIMIT).unwrap();
        assert_eq!(tempo.pace, 250_000);
        assert_eq!(tempo.breaks.as_slice(), [Break { point: 4, excess: Offset::from_millis(200) }]);
        assert!(late(&played, &tempo).iter().all(|&residual| residual == 0));
    }

    #[test]
    fn one_late_note_is_not_a_pause() {
        let played = points(&[0, 250, 500, 850, 1_000, 1_250, 1_500]);
        let tempo = own_tempo(&played, LIMIT).unwrap();
        assert!(tempo.breaks.is_empty());
        assert_eq!(late(&played, &tempo).get(3), Some(&100_000));
    }

    #[test]
    fn sorting_counts_the_pairs_in_the_wrong_order() {
        // Numerical Recipes' quick generator (Press and others, 1992, section 7.1).
        let mut chance = 1_u32;
        for length in [0, 1, 2, 3, 5, 8, 31, 100, 255, 256] {
            let mut values: Vec<i64, EXPECTED_NOTES> = Vec::new();
            for _ in 0..length {
                chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                // Few values, so that equal ones come often.
                values.push(i64::from(chance >> 25) - 60).unwrap();
            }
            let slow = (0..length)
                .flat_map(|one| (one + 1..length).map(move |other| (one, other)))
                .filter(|&(one, other)| values[other] < values[one])
                .count();
            assert_eq!(inversions(&mut values), slow as u32, "{length}");
            assert!(values.is_sorted());
        }
    }

    #[test]
    fn the_median_slope_is_that_of_all_pairs_wherever_it_is_looked_for_first() {
        let mut chance = 7_u32;
        let mut below = |limit: u32| {
            chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (chance >> 8) % limit
        };
        for round in 0..300 {
            let mut at = 0;
            let times: std::vec::Vec<i32> = (0..3 + below(40))
                .map(|_| {
                    at += below(1_500) as i32;
                    at
                })
                .collect();
            let all = points(&times);
            let mut slopes = std::vec::Vec::new();
            for (index, a) in all.iter().enumerate() {
                for b in all.iter().skip(index + 1) {
                    let played = i64::from(b.played.as_micros() - a.played.as_micros());
                    let written = i64::from(b.written.since(a.written).get());
                    slopes.push((2 * played * i64::from(Ticks::PER_QUARTER)).div_euclid(written));
                }
            }
            slopes.sort_unstable();
            let middle = slopes[slopes.len() / 2] + slopes[(slopes.len() - 1) / 2];
            let expected = (middle + 2) / 4;
            for pace in [1, 500_000, 2_000_000_000, expected as u32] {
                let tempo = Tempo { pace, breaks: Vec::new(), points: all.len() };
                let found = median_slope(&all, &tempo).map_or(0, i64::from);
                assert!(found.abs_diff(expected) <= 1, "{round}: {found}, not {expected}");
            }
        }
    }

    #[test]
    fn two_notes_fit_any_tempo() {
        assert!(own_tempo(&points(&[0, 500]), LIMIT).is_none());
        assert!(own_tempo(&points(&[0, 0, 0, 0]), LIMIT).is_none());
    }
}
