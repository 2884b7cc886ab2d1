//! Which columns of the alignment are looked at, where what the best explanation costs at most is known.
//!
//! No way gets cheaper as it goes on, so a cell that costs more than the whole of the best explanation is no part of
//! it. Of a clean attempt that leaves a few columns in each row. What is left is exact: a cell within the bound is
//! reached as if all had been looked at, because its best way leads through such cells only.

use super::events::Event;
use super::table::{Cells, Column};

/// No bound: everything is looked at.
pub(super) const ALL: u16 = u16::MAX;

/// The columns that are looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Band {
    /// What a cell within it costs at most, taken from [`ALL`]: so that nothing known is all zero.
    below_all: u16,
    /// The first and the last column: how many events are behind.
    low: u16,
    high: u16,
    /// No column beyond this is ever looked at.
    last: u16,
    /// The column before the first one, if there is one.
    before: Column,
}

impl Band {
    pub(super) const NONE: Self =
        Self { below_all: 0, low: 0, high: 0, last: 0, before: Column::NONE };

    /// For explanations that cost so much at most; [`ALL`] for any.
    pub(super) const fn within(cost: u16) -> Self {
        Self { below_all: ALL - cost, ..Self::NONE }
    }

    #[inline(always)]
    const fn bound(&self) -> u16 {
        ALL - self.below_all
    }

    /// Back to the first row, with columns up to `last`.
    pub(super) fn begin(&mut self, last: usize) {
        let last = last as u16;
        *self = Self { below_all: self.below_all, low: 0, high: last, last, before: Column::NONE };
    }

    /// The last column in which the first row, whose costs grow, is within the bound.
    pub(super) fn begin_up_to(&mut self, last: usize) {
        self.high = self.last.min(last as u16);
    }

    /// Only what leads to this column is of interest.
    pub(super) fn end_at(&mut self, column: usize) {
        self.last = self.last.min(column as u16);
        self.high = self.high.min(self.last);
    }

    pub(super) const fn is_bounded(&self) -> bool {
        self.below_all != 0
    }

    /// Whether a cell of this cost is looked at.
    #[inline(always)]
    pub(super) const fn has(&self, cost: u16) -> bool {
        cost <= self.bound()
    }

    #[inline(always)]
    pub(super) fn low(&self) -> usize {
        self.low.into()
    }

    #[inline(always)]
    pub(super) fn high(&self) -> usize {
        self.high.into()
    }

    pub(super) fn last(&self) -> usize {
        self.last.into()
    }

    /// The column before the first one.
    pub(super) const fn before(&self) -> Column {
        self.before
    }

    /// A row is over, which was looked at up to column `high`: leaves columns out on both sides of which
    /// nothing that is kept is within the bound any more. Nothing in them or beyond them will be again.
    pub(super) fn narrow(
        &mut self,
        events: &[Event],
        cells: &Cells,
        (high, mut at): (usize, Column),
    ) {
        self.high = high as u16;
        let is_over = |column: Column| cells.column(column).all(|cell| !self.has(cell.cost));
        let (mut low, mut last) = (self.low, self.high);
        let mut before = self.before;
        while low < last {
            let first = if low == 0 {
                Column::first(events)
            } else {
                before.next(events.get(usize::from(low)))
            };
            if !is_over(first) {
                break;
            }
            (low, before) = (low + 1, first);
        }
        while low < last && is_over(at) {
            last -= 1;
            at = at.back(events.get(usize::from(last)));
        }
        (self.low, self.high, self.before) = (low, last, before);
    }
}
