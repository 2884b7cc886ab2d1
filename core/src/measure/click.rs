//! A click as the reference for time, in place of the player's own tempo.
//!
//! The distance of an onset from the click is its time less when the click has its written
//! position, at the tempo that is practised. Late is positive. Unit: microseconds. A chunk may
//! be begun on any beat of the click, so whole beats are taken off: more than half a beat late
//! cannot be told from the other half early.
//!
//! * *Lag*: the median distance.
//! * *Off the click*: an onset that is further from the grid moved by the lag than the limit for
//!   one note and than three robust standard deviations of those distances.
//! * *Running away*: the player's own pace against the click's, in per mille; slower is
//!   positive. Needs the player's own tempo and six events. Its standard error, for n equally
//!   spaced onsets of scatter s an interval apart, is s · √12 / n^1.5 over the interval (least
//!   squares, which the median slope comes near to).

use super::onsets::{FEWEST_BESIDE_DRIFT, Numbers, OffBeat, Point};
use super::statistics::{median_of, robust_deviation_of};
use crate::tolerance::TimeLimit;
use crate::units::{Offset, Tempo};

/// How the onsets lie against a click.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AgainstClick {
    /// The median distance.
    pub lag: Offset,
    /// The note that is furthest off the grid moved by the lag, and how many are.
    pub off: Option<(OffBeat, u16)>,
    /// How much slower than the click, in per mille.
    pub away_per_mille: Option<i32>,
}

/// What the click is.
#[derive(Clone, Copy, Debug)]
pub struct Grid {
    /// From a click that begins the chunk to the attempt's first note.
    pub into_click: Offset,
    /// The tempo that is practised.
    pub tempo: Tempo,
    /// A beat of it.
    pub beat: Offset,
}

/// Measures the onsets against the click. `pace` is the player's own; `single` the limit for
/// one note, and `may_be_off` tells which notes it holds for. `None` without an onset.
// Not inlined: its scratch numbers leave the stack when it is done.
#[inline(never)]
pub fn against(
    points: &[Point],
    grid: Grid,
    pace: Option<u32>,
    interval: Offset,
    single: TimeLimit,
    may_be_off: impl Fn(usize) -> bool,
) -> Option<AgainstClick> {
    let mut distances: Numbers = points
        .iter()
        .map(|point| {
            let due = grid.tempo.lasting(point.written).as_micros();
            point.played.as_micros().saturating_add(grid.into_click.as_micros()).saturating_sub(due)
        })
        .collect();
    let whole = median_of(&distances)?;
    let beat = grid.beat.as_micros().max(1);
    // From minus half a beat up to, but not including, half a beat.
    let half = beat / 2;
    let lag = i64::from(whole) + i64::from(half);
    let lag = (lag.rem_euclid(i64::from(beat)) as i32).saturating_sub(half);
    for distance in &mut distances {
        *distance = distance.saturating_sub(whole);
    }
    let limit = single.at(interval).as_micros();
    let standing_out = limit.max(robust_deviation_of(&distances).saturating_mul(3));
    let mut off: Option<(OffBeat, u16)> = None;
    for (point, &distance) in points.iter().zip(&distances) {
        if distance.abs() > standing_out && may_be_off(point.note.into()) {
            let this = OffBeat { note: usize::from(point.note), by: Offset::from_micros(distance) };
            let (worst, count) = off.unwrap_or((this, 0));
            off = Some((if this.by.size() > worst.by.size() { this } else { worst }, count + 1));
        }
    }
    let away = pace.filter(|_| points.len() >= FEWEST_BESIDE_DRIFT).map(|pace| {
        let click = i64::from(grid.tempo.micros_per_quarter());
        let away = (i64::from(pace) - click) * 1_000 / click;
        away.clamp(-30_000, 30_000) as i32
    });
    Some(AgainstClick { lag: Offset::from_micros(lag), off, away_per_mille: away })
}
