//! Steadiness, drift, single notes off the beat, and the click.
//!
//! The onset of an event is the median of the times of its notes that were played right.
//! Rolled chords and notes that changed places are left out, since their times say something
//! else.
//!
//! * *Drift*: how much slower the second half was than the first, in per mille of the pace,
//!   drawn out to the whole chunk (twice the difference of the halves' paces). Slower is
//!   positive, faster negative. From eight events on.
//! * *Unsteadiness*: standard deviation of the onsets around the player's own tempo, in
//!   microseconds, after the drift is taken off and without the notes that stand out. The
//!   degrees of freedom are the events less one for each segment, one for the pace and one
//!   for the drift. From five events on.
//! * *Standing out*: an onset that is further from where it belongs than the limit for one
//!   note and than three robust standard deviations. Late is positive.
//! * *Lag behind a click*: the median distance of the onsets from the click's grid. Late is
//!   positive.
//!
//! Numbers of events are our defaults: with fewer, the spread of the estimate is larger than
//! what it should tell (the 90 % range of a standard deviation from 8 notes is 0.56 to 1.42
//! times the truth, by χ²).

use super::Material;
use super::order::Order;
use super::statistics::{deviation, median, robust_deviation};
use super::tempo::{self, Numbers, Point, Points, Tempo, lasting, own_tempo};
use crate::limits::NOTES_TOGETHER;
use crate::study::Marks;
use crate::tolerance::TimeLimit;
use crate::units::{Instant, Offset, Ticks};
use heapless::Vec;

/// The fewest events whose drift is measured.
pub const FEWEST_FOR_DRIFT: usize = 8;
/// The fewest events whose steadiness is measured.
pub const FEWEST_FOR_STEADINESS: usize = 5;

/// A click that the player heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Click {
    /// When the chunk's first position was due.
    pub start: Instant,
}

/// Unsteadiness and what it is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Steadiness {
    /// Standard deviation of the onsets.
    pub deviation: Offset,
    /// Degrees of freedom of that estimate.
    pub degrees: u32,
}

/// One note that stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OffBeat {
    /// The expected note.
    pub note: usize,
    /// How late it was; early is negative.
    pub by: Offset,
}

/// How an attempt was timed.
#[derive(Clone, Debug)]
pub struct Timing {
    /// The onsets that were looked at.
    pub points: Points,
    /// The player's own tempo, where enough was heard.
    pub tempo: Option<Tempo>,
    /// How far each point was from where it belongs; late is positive.
    pub residuals: Numbers,
    /// The median written interval between neighbouring events at the tempo played.
    pub interval: Offset,
    /// Drift in per mille; slower is positive.
    pub drift_per_mille: Option<i32>,
    /// Steadiness.
    pub steadiness: Option<Steadiness>,
    /// The note that stands out furthest, and how many do.
    pub off_beat: Option<(OffBeat, u16)>,
    /// Lag behind the click; early is negative.
    pub lag: Option<Offset>,
}

/// Measures the timing. `single` is the limit for one note.
pub fn timing(
    material: Material<'_>,
    order: &Order,
    single: TimeLimit,
    click: Option<(Click, Instant)>,
) -> Timing {
    let points = onsets(material, order);
    let tempo = own_tempo(&points);
    let mut timing = Timing {
        residuals: Numbers::new(),
        interval: Offset::ZERO,
        drift_per_mille: None,
        steadiness: None,
        off_beat: None,
        lag: click.and_then(|(click, attempt)| lag(material, &points, click, attempt)),
        tempo: None,
        points,
    };
    let Some(tempo) = tempo else { return timing };
    let mut gaps: Numbers = timing
        .points
        .iter()
        .zip(timing.points.iter().skip(1))
        .map(|(a, b)| lasting(b.written.since(a.written), tempo.pace))
        .collect();
    timing.interval = Offset::from_micros(median(&mut gaps).unwrap_or(0));
    timing.drift_per_mille = drift(&timing.points, &tempo);
    let bend = Bend::of(&timing.points, &tempo, timing.drift_per_mille.unwrap_or(0));
    timing.residuals = tempo::residuals(&timing.points, &tempo, |at| bend.at(at));

    let mut sorted = timing.residuals.clone();
    let limit = single.at(timing.interval).as_micros();
    let standing_out = limit.max(robust_deviation(&mut sorted, 0).saturating_mul(3));
    let mut squares = 0_u64;
    let mut counted = 0_u32;
    for (point, &residual) in timing.points.iter().zip(&timing.residuals) {
        if residual.abs() > standing_out {
            let off = OffBeat { note: usize::from(point.note), by: Offset::from_micros(residual) };
            let (worst, count) = timing.off_beat.unwrap_or((off, 0));
            let worst = if off.by.size() > worst.by.size() { off } else { worst };
            timing.off_beat = Some((worst, count + 1));
        } else {
            squares = squares.saturating_add(u64::from(residual.unsigned_abs()).pow(2));
            counted += 1;
        }
    }
    let fitted = tempo.segments().count() as u32 + 1 + u32::from(timing.drift_per_mille.is_some());
    if timing.points.len() >= FEWEST_FOR_STEADINESS {
        let degrees = counted.saturating_sub(fitted);
        timing.steadiness = deviation(squares, degrees)
            .map(|deviation| Steadiness { deviation: Offset::from_micros(deviation), degrees });
    }
    timing.tempo = Some(tempo);
    timing
}

/// The onsets of the events that tell about timing.
fn onsets(material: Material<'_>, order: &Order) -> Points {
    material
        .events()
        .filter_map(|event| {
            let first = material.chunk.notes().get(event.start)?;
            let mut times: Vec<i32, NOTES_TOGETHER> = Vec::new();
            for index in event.clone() {
                let wanted = material.chunk.notes().get(index)?;
                if wanted.marks.has(Marks::ROLLED) {
                    return None;
                }
                if let Some(note) = material.right(index).filter(|_| !order.involved.has(index)) {
                    let _ = times.push(note.at.as_micros());
                }
            }
            let played = Offset::from_micros(median(&mut times)?);
            Some(Point { written: first.onset, played, note: event.start as u16 })
        })
        .collect()
}

fn drift(points: &[Point], tempo: &Tempo) -> Option<i32> {
    if points.len() < FEWEST_FOR_DRIFT {
        return None;
    }
    // With the breaks closed up, each half can be fitted as one piece.
    let closed: Points = points
        .iter()
        .enumerate()
        .map(|(index, point)| {
            let lost: i32 = tempo
                .breaks
                .iter()
                .filter(|b| b.point <= index)
                .fold(0, |sum, b| sum.saturating_add(b.excess.as_micros()));
            let played = Offset::from_micros(point.played.as_micros().saturating_sub(lost));
            Point { played, ..*point }
        })
        .collect();
    let (first, second) = closed.split_at_checked(closed.len() / 2)?;
    let (first, second) = (tempo::slope(first)?, tempo::slope(second)?);
    let difference =
        2 * (i64::from(second) - i64::from(first)) * 1_000 / i64::from(tempo.pace.max(1));
    i32::try_from(difference).ok()
}

/// The curve that a steady drift bends the onsets into: at share x of the chunk's length,
/// (x² − x) / 2 times drift times length.
struct Bend {
    start: Ticks,
    length: u32,
    /// Drift times length, in microseconds.
    size: i64,
}

impl Bend {
    fn of(points: &[Point], tempo: &Tempo, drift_per_mille: i32) -> Self {
        let start = points.first().map_or(Ticks::ZERO, |point| point.written);
        let end = points.last().map_or(Ticks::ZERO, |point| point.written);
        let length = end.since(start);
        let size = i64::from(lasting(length, tempo.pace)) * i64::from(drift_per_mille) / 1_000;
        Self { start, length: length.get(), size }
    }

    fn at(&self, position: Ticks) -> i32 {
        if self.length == 0 {
            return 0;
        }
        // Shares in 1,024ths.
        let x = i64::from(position.since(self.start).get()) * 1_024 / i64::from(self.length);
        let curve = (x * x - 1_024 * x) / 2;
        i32::try_from(self.size * curve / (1_024 * 1_024)).unwrap_or(0)
    }
}

fn lag(material: Material<'_>, points: &[Point], click: Click, attempt: Instant) -> Option<Offset> {
    let into_click = attempt.since(click.start).as_micros();
    let mut distances: Numbers = points
        .iter()
        .map(|point| {
            let due = material.chunk.tempo().lasting(point.written).as_micros();
            point.played.as_micros().saturating_add(into_click).saturating_sub(due)
        })
        .collect();
    median(&mut distances).map(Offset::from_micros)
}
