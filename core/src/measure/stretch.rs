//! A stretch inside the chunk that was rushed or dragged.
//!
//! A run of at least four events whose pace differs from the pace of the whole: the slope (least
//! squares) of its onsets less where the player's own tempo puts them, in per mille of the pace.
//! Slower is positive. A drift of more than two standard errors is taken off first. Runs do not
//! cross pauses that are over the limit for hesitations; smaller breaks of the tempo may be what
//! a stretch is made of. It needs eight events in the attempt.
//!
//! A difference counts only if it is more than [`STANDARD_ERRORS`] of its standard errors: for a
//! scatter s of the onsets, s / √(Σ(x − x̄)²) with the positions x. The scatter is taken from the
//! distance of each onset from the line between its two neighbours, which a change of pace leaves
//! alone but at its two ends, which are left out: root of their mean square / √1.5, and at least 6
//! ms, under which nobody notices (Friberg & Sundberg 1995). It is not robust: a stray makes it
//! larger, and the measure more careful.
//!
//! Both must hold, too, with the longest interval of the run (the shortest, of a faster one) taken
//! for one that was right: where one interval makes the difference, it was a pause and no stretch.
//! Of the runs for which it does, the one is told that takes up most time over the root of its
//! length: a longer one has more of the rest in it, a shorter one leaves some of it out.
//!
//! A long stretch also pulls at the pace of the whole, so that it shows smaller than it was.

use super::onsets::{BREAKS, Break, Numbers, Point};
use super::statistics::deviation;
use super::tempo::Tempo;
use super::timing::Timing;
use crate::arithmetic::{product, root};
use crate::tolerance::TimeLimit;
use crate::units::{Offset, Ticks, lasting};
use core::ops::Range;
use heapless::Vec;

/// The fewest events of an attempt in which one is looked for: as many again as a stretch has.
pub(crate) const FEWEST_EVENTS: usize = 8;

/// The fewest events of a stretch.
pub const FEWEST_IN_A_STRETCH: usize = 4;

/// How many standard errors, in thousandths, the difference must be. Our default: the largest
/// of the hundreds of runs in an attempt is looked at, so it must be far more than for one. With
/// normal scatter at the limit of `steady` fewer than one attempt in a hundred shows a stretch
/// that is none (see the test).
pub const STANDARD_ERRORS: u64 = 4_500;

/// Onsets scatter at least this much, in microseconds.
pub const LEAST_SCATTER: i32 = 6_000;

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
    /// The standard error of that, in per mille.
    pub error: u16,
}

/// How many standard errors of a clean player's hands, in thousandths, make a stretch that there
/// perhaps is: clean players show that much in about one attempt of a hundred. Our default, found by
/// trying (see the tests).
pub const PERHAPS: u64 = 3_400;

/// Finds the stretch whose pace differs by more than `limit` per mille; `pause` is the limit for
/// hesitations.
pub fn stretch(timing: &Timing, limit: u16, pause: TimeLimit) -> Option<Stretch> {
    find(timing, (limit, pause), None)
}

/// The same where it may be chance: more than hands that scatter by `clean`, in microseconds, make
/// of a steady tempo. `limits` are those for the pace, in per mille, and for hesitations.
pub fn perhaps_a_stretch(timing: &Timing, limits: (u16, TimeLimit), clean: u32) -> Option<Stretch> {
    find(timing, limits, Some(clean))
}

// Not inlined: its scratch numbers leave the stack when it is done.
#[inline(never)]
fn find(timing: &Timing, (limit, pause): (u16, TimeLimit), clean: Option<u32>) -> Option<Stretch> {
    let tempo = timing.tempo.as_ref()?;
    if timing.points.len() < FEWEST_EVENTS {
        return None;
    }
    let late = late(timing, tempo);
    let pieces = pieces(timing, tempo, pause);
    let whole = Scatter::of(timing, &late, &pieces);
    let certain = if clean.is_some() { PERHAPS } else { STANDARD_ERRORS };
    let mut best: Option<(u64, Stretch)> = None;
    for piece in &pieces {
        let points = timing.points.get(piece.clone()).unwrap_or(&[]);
        let lates = late.get(piece.clone()).unwrap_or(&[]);
        for (first, (from, &start)) in points.iter().zip(lates).enumerate() {
            let mut run = Run::default();
            for (last, (point, &late)) in points.iter().zip(lates).enumerate().skip(first) {
                let length = point.written.since(from.written);
                run.add(length, late.saturating_sub(start));
                // At the two ends of a stretch the onsets bend.
                let own = || whole.without([first, last].map(|at| distance(points, lates, at)));
                let scatter = || clean.map(u64::from).or_else(own);
                let differs = run.differs(tempo.pace, scatter, (limit, certain));
                let Some((per_mille, errors)) = differs else {
                    continue;
                };
                // The square of what it takes up, over its length.
                let taken = u64::from(late.abs_diff(start)).pow(2) / u64::from(length.get().max(1));
                if best.is_none_or(|(most, _)| taken > most) {
                    let found = Stretch {
                        note: usize::from(from.note),
                        last: usize::from(point.note),
                        events: run.all.count as u16,
                        per_mille,
                        error: (u64::from(per_mille.unsigned_abs()) * 1_000 / errors.max(1)) as u16,
                    };
                    best = Some((taken, found));
                }
            }
        }
    }
    best.map(|(_, stretch)| stretch)
}

/// A run of onsets, with the intervals that were longest and shortest.
#[derive(Default)]
struct Run {
    all: Sums,
    before: i32,
    longest: Option<(i32, Sums)>,
    shortest: Option<(i32, Sums)>,
}

impl Run {
    fn add(&mut self, position: Ticks, late: i32) {
        let excess = late.saturating_sub(self.before);
        self.before = late;
        if self.all.count > 0 {
            if self.longest.is_none_or(|(most, _)| excess > most) {
                self.longest = Some((excess, self.all));
            }
            if self.shortest.is_none_or(|(least, _)| excess < least) {
                self.shortest = Some((excess, self.all));
            }
        }
        self.all.add(position, late);
    }

    /// How much slower it was, in per mille, and how many standard errors (in thousandths) that
    /// is from nothing, if it is a stretch by itself and without its most conspicuous interval.
    fn differs(
        &self,
        pace: u32,
        scatter: impl Fn() -> Option<u64>,
        (limit, enough): (u16, u64),
    ) -> Option<(i16, u64)> {
        if self.all.count < FEWEST_IN_A_STRETCH as i64 {
            return None;
        }
        let per_mille = self.all.per_mille_beyond(limit, pace)?;
        let (excess, before) = if per_mille > 0 { self.longest? } else { self.shortest? };
        let rest = self.all.closed(i64::from(excess), &before);
        let usual = rest.per_mille_beyond(limit, pace)?;
        let same_way = (usual > 0) == (per_mille > 0);
        if !same_way {
            return None;
        }
        let scatter = scatter()?;
        let certain = rest.standard_errors(usual, pace, scatter) > enough;
        let errors = self.all.standard_errors(per_mille, pace, scatter);
        certain.then_some((per_mille.clamp(-10_000, 10_000) as i16, errors))
    }
}

/// How much later each point came than the pace puts it, a drift that is none of chance's taken
/// off.
fn late(timing: &Timing, tempo: &Tempo) -> Numbers {
    let start = timing.points.first().map_or(Ticks::ZERO, |point| point.written);
    let end = timing.points.last().map_or(Ticks::ZERO, |point| point.written);
    let length = i64::from(lasting(end.since(start), tempo.pace)).max(1);
    let drift = timing
        .drift_per_mille
        .filter(|drift| drift.unsigned_abs() > timing.drift_error.saturating_mul(2))
        .map_or(0, |drift| i64::from(drift.clamp(-2_000, 2_000)));
    timing
        .points
        .iter()
        .map(|point| {
            let steady = i64::from(lasting(point.written.since(start), tempo.pace));
            // The share x of the whole is late by (x² − x) · drift / 2.
            let bend = (steady * steady / length - steady) * drift / 2_000;
            let late = i64::from(point.played.as_micros()) - steady - bend;
            late.clamp(-i64::from(i32::MAX), i64::from(i32::MAX)) as i32
        })
        .collect()
}

/// The pieces of an attempt between pauses.
type Pieces = Vec<Range<usize>, { BREAKS + 1 }>;

fn pieces(timing: &Timing, tempo: &Tempo, pause: TimeLimit) -> Pieces {
    let is_pause = |b: &&Break| {
        let before = b.point.checked_sub(1).and_then(|before| timing.points.get(before));
        let (Some(before), Some(after)) = (before, timing.points.get(b.point)) else {
            return true;
        };
        let written = lasting(after.written.since(before.written), tempo.pace);
        b.excess.size() > pause.at(Offset::from_micros(written))
    };
    let mut pieces = Pieces::new();
    let mut start = 0;
    for b in tempo.breaks.iter().filter(is_pause) {
        let _ = pieces.push(start..b.point);
        start = b.point;
    }
    let _ = pieces.push(start..timing.points.len());
    pieces
}

/// How far the onset `at` of a piece is from the line between its neighbours; `None` at either end.
fn distance(points: &[Point], late: &[i32], at: usize) -> Option<u64> {
    let onset = |at: usize| Some((points.get(at)?.written, i64::from(*late.get(at)?)));
    let (before, here, after) = (onset(at.checked_sub(1)?)?, onset(at)?, onset(at + 1)?);
    let whole = i64::from(after.0.since(before.0).get()).max(1);
    let part = i64::from(here.0.since(before.0).get());
    let line = before.1 + (after.1 - before.1) * part / whole;
    Some((here.1 - line).unsigned_abs().min(MOST_DISTANCE))
}

/// How much single onsets scatter, changes of pace aside.
#[derive(Clone, Copy, Default)]
struct Scatter {
    squares: u64,
    count: u32,
}

impl Scatter {
    fn of(timing: &Timing, late: &[i32], pieces: &Pieces) -> Self {
        let mut all = Self::default();
        for piece in pieces {
            let points = timing.points.get(piece.clone()).unwrap_or(&[]);
            let late = late.get(piece.clone()).unwrap_or(&[]);
            for distance in (0..points.len()).filter_map(|at| distance(points, late, at)) {
                all.squares = all.squares.saturating_add(distance.pow(2));
                all.count += 1;
            }
        }
        all
    }

    /// In microseconds, without onsets so far from their neighbours; `None` if nothing is left.
    fn without(mut self, left_out: [Option<u64>; 2]) -> Option<u64> {
        for distance in left_out.into_iter().flatten() {
            self.squares = self.squares.saturating_sub(distance.pow(2));
            self.count = self.count.saturating_sub(1);
        }
        // 1 / √1.5 = 0.816.
        let scatter = i64::from(deviation(self.squares, self.count)?) * 816 / 1_000;
        Some((scatter as i32).max(LEAST_SCATTER).unsigned_abs().into())
    }
}

/// Sums for a line through the onsets of a run. Positions count in units of six ticks, of which
/// the usual note values are multiples, so that the sums fit.
#[derive(Clone, Copy, Default)]
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

    /// The same with everything after the points of `before` earlier by `excess`.
    fn closed(&self, excess: i64, before: &Self) -> Self {
        Self {
            y: self.y - excess * (self.count - before.count),
            xy: self.xy - excess * (self.x - before.x),
            ..*self
        }
    }

    /// n · Σ(x − x̄)².
    fn width(&self) -> i64 {
        self.count * self.xx - self.x * self.x
    }

    /// The slope as a fraction: in thousandths of a microsecond a quarter, over this.
    fn slope(&self) -> (i64, i64) {
        let mut over = self.count * self.xy - self.x * self.y;
        let mut under = self.width();
        while over.abs() > 1 << 40 {
            over /= 2;
            under /= 2;
        }
        (over * Self::UNITS_A_QUARTER * 1_000, under)
    }

    /// The slope in per mille of the pace, if it is more than `limit` either way. Most are not,
    /// and then nothing is divided: the smallest processors do that bit by bit.
    fn per_mille_beyond(&self, limit: u16, pace: u32) -> Option<i32> {
        let (over, under) = self.slope();
        let pace = i64::from(pace.max(1));
        let least = (i64::from(limit) + 1).checked_mul(pace)?.checked_mul(under)?;
        if over.abs() < least {
            return None;
        }
        i32::try_from((over / pace).checked_div(under)?).ok()
    }

    /// How many standard errors a slope is from none, in thousandths.
    fn standard_errors(&self, per_mille: i32, pace: u32, scatter: u64) -> u64 {
        let width = root(self.width().unsigned_abs() / self.count.unsigned_abs().max(1));
        let slope = u64::from(per_mille.unsigned_abs().min(10_000)) * u64::from(pace);
        product(slope, width) / (scatter.max(1) * Self::UNITS_A_QUARTER.unsigned_abs())
    }
}
