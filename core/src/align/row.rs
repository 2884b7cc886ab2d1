//! One row of the alignment: what a played note can be.

use super::chord::Chord;
use super::pace::{Pace, Passed};
use super::stream::Over;
use super::table::{Cell, Column, Step};
use super::together::fit_one;
use super::{Aligner, Best, Manner, milliseconds};
use crate::attempt::PlayedNote;
use crate::limits::PLAYED_NOTES;
use crate::study::Chunk;

impl Aligner {
    /// Takes the last of `played`, which holds all that was played since the beginning. Notes
    /// beyond [`PLAYED_NOTES`] are not aligned.
    ///
    /// The smallest processors go through this loop for every expected note between two bytes, so
    /// the ways to a cell are compared by their costs alone, and only the cheapest one is copied.
    pub fn push(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote]) {
        let row = played.len();
        if row > PLAYED_NOTES || row != self.rows + 1 {
            return;
        }
        let Some(note) = played.last() else { return };
        self.rows = row;
        self.cells.advance();
        let now = milliseconds(note);
        let (costs, events) = (&self.costs, self.events.list());
        let is_in_trills = self.events.is_in_trills(note);
        let pace = Pace::new(costs, events, played);
        let mut passed = Passed::until(now);
        let mut chord = Chord::default();

        let added = costs.added(note);
        // Before the first event everything is extra, or played for itself.
        let outside = match self.manner {
            Manner::OneAttempt => added,
            Manner::Stream => costs.outside.min(added),
        };
        let mut before = Column::first(events);
        // Slots of the cells to the left: in this row, and in the row above.
        let (mut left, mut corner) = (self.cells.slot(before, 0), self.cells.slot(before, 1));
        let first = self.cells.at(corner).dearer(outside);
        self.cells.put(left, first);
        let mut left_cost = first.cost;
        let mut cheapest = first.cost;
        let mut best = Best::outside(first);
        let mut over = Over::NOTHING;

        for (index, event) in events.iter().enumerate() {
            let reached = index + 1;
            let here = before.next(events.get(reached));
            let (slot, above) = (self.cells.slot(here, 0), self.cells.slot(here, 1));

            let mut cost = left_cost.saturating_add(costs.left_out(event));
            let (mut source, mut step) = (left, Step::LeftOut);

            let from = self.cells.at(above);
            let trilled = is_in_trills && self.is_trilled(note, reached, from, played);
            let extra = from.cost.saturating_add(if trilled { costs.trilled } else { added });
            if extra <= cost {
                (cost, source, step) = (extra, above, Step::Extra);
            }

            let expected = event.notes(chunk.notes());
            let matched = if let [wanted] = expected {
                let from = self.cells.at(corner);
                let price = fit_one(costs, wanted, note);
                if from.cost.saturating_add(price) <= cost {
                    let cell =
                        pace.of_first(from, index, event, row - 1, &mut passed).dearer(price);
                    (cell.cost <= cost).then_some((cell, 1))
                } else {
                    None
                }
            } else {
                let cells = (&self.cells, before);
                chord.match_with((index, event), expected, &self.events, cells, &pace, cost)
            };
            let cell = match matched {
                Some((cell, notes)) => {
                    step = Step::Match(notes);
                    cell
                }
                None => Cell { cost, ..*self.cells.at(source) },
            };
            self.cells.put(slot, cell);
            if self.manner == Manner::OneAttempt {
                self.steps.set(row - 1, event, step);
            }

            let ends = reached >= self.proper && !self.trill_goes_on(now, reached, &cell, played);
            over.consider(costs, &cell, ends);
            // On a tie, further is better only if the note that just came is part of it: an
            // extra note after the last proper one does not mean that the landing was left out.
            let part = matches!(step, Step::Match(_)) || (step == Step::Extra && trilled);
            if cell.cost < cheapest || (cell.cost == cheapest && part) {
                cheapest = cell.cost;
                best = Best { events: reached, part, cell };
            }
            (before, left, corner, left_cost) = (here, slot, above, cell.cost);
        }
        self.best = best;
        if self.manner == Manner::Stream {
            self.go_round(over);
            self.keep_small();
        }
    }
}
