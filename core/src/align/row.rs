//! One row of the alignment: what a played note can be.

use super::chord::Chord;
use super::pace::Pace;
use super::stream::Completion;
use super::table::{Column, Step};
use super::together::fit_one;
use super::{Aligner, Best, Manner, milliseconds};
use crate::attempt::PlayedNote;
use crate::study::ExpectedNote;

impl Aligner<'_> {
    /// Takes the last of `played`, which holds all that was played since the beginning. None is
    /// aligned after [`pair`](Aligner::pair).
    ///
    /// The smallest processors go through this loop for every expected note between two bytes, so
    /// the ways to a cell are compared by their costs alone, and only the cheapest one is copied.
    pub(crate) fn push(&mut self, notes: &[ExpectedNote], played: &[PlayedNote]) {
        let Aligner { progress, events, cells, steps } = self;
        let (progress, events, cells) = (&mut **progress, &**events, &mut **cells);
        let row = played.len();
        if row != progress.rows + 1 || progress.is_closed {
            return;
        }
        let Some(note) = played.last() else { return };
        progress.rows = row;
        cells.advance();
        let mut steps = steps.advance();
        let now = milliseconds(note);
        let (costs, manner, list) = (&progress.costs, progress.manner, events.list());
        let is_in_trills = events.is_in_trills(note);
        let mut pace = Pace::of(costs, list, played, row - 1);
        let mut chord = Chord::default();

        let added = costs.added(note);
        // Before the first event everything is extra, or played for itself.
        let outside = match manner {
            Manner::OneAttempt | Manner::Cut => added,
            Manner::Stream => costs.passed_over(note),
        };
        let band = &progress.band;
        let low = band.low();
        // Nothing leads to what is no longer looked at.
        let (mut before, outside) = match low {
            0 => (Column::first(list), outside),
            _ => (band.before(), u16::MAX),
        };
        // Slots of the cells to the left: in this row, and in the row above.
        let (mut left, mut corner) = cells.slots(before);
        let mut first = cells.at(corner).dearer(outside);
        // What is paid from here on is paid for the attempt.
        first.before = first.cost;
        let outset = left;
        cells.keep(before, outset);
        cells.put(outset, first);
        // An attempt in a stream may begin on the way. One that was cut out does so before its
        // first note or not at all, which back-pointers can tell.
        let midway = match manner {
            Manner::OneAttempt | Manner::Cut => u16::MAX,
            Manner::Stream => first.cost.saturating_add(costs.begin_midway),
        };
        let mut left_cost = first.cost;
        let mut cheapest = first.cost;
        let (mut best, mut best_part) = ((0, left), false);
        let mut over = Completion::NOTHING;

        // Up to the last column that is looked at, and on from there as long as that is within the bound.
        let (mut index, mut to) = (low.saturating_sub(1), band.high());
        let mut high = (to, before);
        loop {
            for event in list.get(index..to).unwrap_or_default() {
                let reached = index + 1;
                let here = before.next(list.get(reached));
                let (slot, above) = cells.slots(here);

                let mut cost = left_cost.saturating_add(costs.left_out(event));
                let (mut source, mut step) = (left, Step::LeftOut);
                if midway < cost {
                    (cost, source) = (midway, outset);
                }

                let from = cells.at(above);
                let trilled =
                    is_in_trills && events.is_trilled(manner, note, reached, from, played);
                let extra = from.cost.saturating_add(if trilled { costs.trilled } else { added });
                if extra <= cost {
                    (cost, source, step) = (extra, above, Step::Extra);
                }

                let expected = event.notes(notes);
                if let [wanted] = expected {
                    cells.keep(here, slot);
                    let from = cells.at(corner);
                    let matched = from.cost.saturating_add(fit_one(costs, wanted, note));
                    if let Some(room) = cost.checked_sub(matched)
                        && let Some(time) = pace.time(from, event, room)
                        && time.price <= room
                    {
                        (cost, step) = (matched + time.price, Step::Match(1));
                        let cell = from.matched(index, row - 1, cost, time.tempo);
                        cells.put(slot, cell);
                    }
                } else {
                    let from = (&*cells, before);
                    let heard = (costs, played);
                    let found =
                        chord.match_with((index, event), expected, events, from, heard, cost);
                    cells.keep(here, slot);
                    if let Some((cell, notes)) = found {
                        (cost, step) = (cell.cost, Step::Match(notes));
                        cells.put(slot, cell);
                    }
                }
                if !matches!(step, Step::Match(_)) {
                    cells.copy(source, slot, cost);
                }
                if manner != Manner::Stream {
                    steps.set(event, step);
                }

                let cell = cells.at(slot);
                let ends =
                    reached >= events.proper && !events.trill_goes_on(now, reached, cell, played);
                over.consider(costs, cell, ends);
                // On a tie, further is better only if the note that just came is part of it: an
                // extra note after the last proper one does not mean that the landing was left out.
                let part = matches!(step, Step::Match(_)) || (step == Step::Extra && trilled);
                if cost < cheapest || (cost == cheapest && part) {
                    cheapest = cost;
                    (best, best_part) = ((reached, slot), part);
                }
                (before, left, corner, left_cost) = (here, slot, above, cost);
                index = reached;
            }
            if to == band.high() || band.has(left_cost) {
                high = (to, before);
            }
            if to != high.0 || to == band.last() {
                break;
            }
            to += 1;
            cells.clear(before.next(list.get(to)));
        }
        if band.is_bounded() {
            progress.band.narrow(list, cells, high);
        }
        let (events, slot) = best;
        progress.best = Best { events, part: best_part, cell: *cells.at(slot) };
        progress.over = over.cost;
        if manner == Manner::Stream {
            self.go_round(over);
            self.keep_small();
        }
    }
}
