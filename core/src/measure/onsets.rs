//! Onsets of events, and what stands out among them: what the measures of time share.

use crate::limits::EXPECTED_NOTES;
use crate::units::{Offset, Ticks};
use core::ops::Range;
use heapless::Vec;

/// The fewest events whose scatter is measured with the drift taken off.
pub const FEWEST_BESIDE_DRIFT: usize = 6;

/// An event: where it is written, and when it was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Point {
    /// Its position in the chunk.
    pub written: Ticks,
    /// When it was played, from the start of the attempt.
    pub played: Offset,
    /// Its first expected note.
    pub note: u16,
}

/// The points of an attempt, in order of their written position.
pub type Points = Vec<Point, EXPECTED_NOTES>;

/// Numbers, one a point or fewer.
pub type Numbers = Vec<i32, EXPECTED_NOTES>;

/// An interval that is longer or shorter than the tempo explains.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Break {
    /// The point after it.
    pub point: usize,
    /// How much longer it was (shorter, if negative).
    pub excess: Offset,
}

/// More breaks than this in one attempt are not told one by one.
pub const BREAKS: usize = 16;

/// The breaks of an attempt, in order.
pub type Breaks = Vec<Break, BREAKS>;

/// One note that stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OffBeat {
    /// The expected note.
    pub note: usize,
    /// How late it was; early is negative.
    pub by: Offset,
}

/// Ranges of points between breaks.
pub(crate) fn segments(points: usize, breaks: &[Break]) -> impl Iterator<Item = Range<usize>> + '_ {
    let starts = core::iter::once(0).chain(breaks.iter().map(|b| b.point));
    let ends = breaks.iter().map(|b| b.point).chain([points]);
    starts.zip(ends).map(|(start, end)| start..end)
}
