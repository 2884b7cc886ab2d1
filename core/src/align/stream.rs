//! What makes a stream of attempts out of the alignment of one: an attempt is over and the next
//! begins anywhere, at its price.

use super::Aligner;
use super::costs::Costs;
use super::table::{Cell, Column};

/// The cheapest way for what was under way to be over.
#[derive(Clone, Copy)]
pub(super) struct Completion {
    pub(super) cost: u16,
    /// Who plays a chunk again plays it at much the same tempo.
    tempo: i16,
}

impl Completion {
    /// Nothing has begun.
    pub(super) const NOTHING: Self = Self { cost: u16::MAX, tempo: Cell::NO_TEMPO };

    /// An attempt that reached its end is over for little; one that breaks off pays.
    #[inline(always)]
    pub(super) fn consider(&mut self, costs: &Costs, cell: &Cell, reached_its_end: bool) {
        let price = if reached_its_end { costs.end } else { costs.break_off };
        // Nothing is over that has not begun.
        let cost = cell.cost.saturating_add(price);
        if cost < self.cost && cell.event != Cell::NONE {
            *self = Self { cost, tempo: cell.tempo };
        }
    }
}

impl Aligner<'_> {
    /// What was under way may be over: begins anew, from the cell before the first event.
    pub(super) fn go_round(&mut self, over: Completion) {
        let events = self.events.list();
        let mut column = Column::first(events);
        if over.cost >= self.cells.get(column, 0).cost {
            return;
        }
        let mut cell = Cell { tempo: over.tempo, before: over.cost, ..Cell::start(over.cost) };
        self.cells.set(column, cell);
        // The next attempt may leave out its first events, or begin on the way.
        let midway = over.cost.saturating_add(self.progress.costs.begin_midway);
        for (index, event) in events.iter().enumerate() {
            cell = cell.dearer(self.progress.costs.left_out(event));
            cell.cost = cell.cost.min(midway);
            column = column.next(events.get(index + 1));
            let slot = self.cells.slot(column, 0);
            if cell.cost < self.cells.at(slot).cost {
                self.cells.put(slot, cell);
            }
        }
    }

    /// Costs of a stream add up for ever, and only their differences matter.
    pub(super) fn keep_small(&mut self) {
        const HIGH: u16 = 16_384;
        // Cells of earlier rows may be cheaper, by less than this.
        const ROOM: u16 = 4_096;
        if self.progress.best.cell.cost >= HIGH {
            self.cells.lower(Column::last(self.events.list()), HIGH - ROOM);
            self.progress.best.cell = self.progress.best.cell.lowered(HIGH - ROOM);
        }
    }
}
