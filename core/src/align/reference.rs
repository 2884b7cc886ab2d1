//! Slow and obvious alignments, to hold the fast one against.

extern crate std;

use super::costs::{Costs, is_right};
use super::table::{Cell, Step};
use super::together::{MOST, fit, same_string};
use super::{Aligner, Events};
use crate::attempt::PlayedNote;
use crate::study::{Chunk, ExpectedNote};
use std::vec;
use std::vec::Vec;

/// The cheapest explanation without regard to time, by trying everything.
pub(super) fn cheapest(costs: &Costs, chunk: &Chunk<'_>, played: &[PlayedNote]) -> u32 {
    let events = Events::of(chunk);
    from(costs, &events, chunk, played, 0)
}

fn from(
    costs: &Costs,
    events: &Events,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    index: usize,
) -> u32 {
    let Some(event) = events.get(index) else {
        return all_added(costs, played);
    };
    let expected = events.notes(&event, chunk.notes());
    let left_out = u32::from(costs.missing) * expected.len() as u32
        + from(costs, events, chunk, played, index + 1);
    let mut best = left_out;
    if let Some((first, rest)) = played.split_first() {
        best = best.min(u32::from(costs.added(first)) + from(costs, events, chunk, rest, index));
    }
    for notes in 1..=event.most_notes().min(played.len()) {
        let (these, rest) = played.split_at(notes);
        if let Some(price) = assign(costs, expected, these, false) {
            best = best.min(price + from(costs, events, chunk, rest, index + 1));
        }
    }
    best
}

fn all_added(costs: &Costs, played: &[PlayedNote]) -> u32 {
    played.iter().map(|note| u32::from(costs.added(note))).sum()
}

/// The cheapest assignment of played to expected notes, by trying all; `None` if no pair is
/// made.
fn assign(
    costs: &Costs,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
    any_pair: bool,
) -> Option<u32> {
    let Some((wanted, others)) = expected.split_first() else {
        return any_pair.then(|| all_added(costs, played));
    };
    let without = assign(costs, others, played, any_pair).map(|c| c + u32::from(costs.missing));
    let with = (0..played.len()).filter_map(|index| {
        let mut rest = played.to_vec();
        let note = rest.remove(index);
        let price = if is_right(wanted, &note) {
            let elsewhere = same_string(wanted, &note) == Some(false);
            if elsewhere { costs.other_string } else { 0 }
        } else {
            super::together::wrong(costs, wanted, &note)
        };
        assign(costs, others, &rest, true).map(|cost| cost + u32::from(price))
    });
    without.into_iter().chain(with).min()
}

/// The same dynamic programme as [`Aligner`], with the whole table in memory: which played
/// note each expected note is paired with, before the second look.
pub(super) fn whole_table(
    aligner: &Aligner,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
) -> (u16, Vec<Option<usize>>) {
    let events = Events::of(chunk);
    let costs = aligner.costs;
    let columns = events.len() + 1;
    let mut table = vec![vec![(Cell::start(0), Step::LeftOut); columns]; played.len() + 1];
    for row in 0..=played.len() {
        for column in 0..columns {
            let Some(before) = column.checked_sub(1) else {
                let extra = all_added(&costs, &played[..row]) as u16;
                table[row][0] = (Cell::start(extra), Step::Extra);
                continue;
            };
            let event = events.get(before).unwrap();
            let left_out = if event.landing { 0 } else { costs.missing * u16::from(event.size) };
            let mut best = (table[row][before].0.dearer(left_out), Step::LeftOut);
            if let Some(above) = row.checked_sub(1) {
                let trilled =
                    aligner.is_trilled(&played[above], column, &table[above][column].0, played);
                let added = costs.added(&played[above]);
                let extra = if trilled { costs.trilled } else { added };
                let candidate = table[above][column].0.dearer(extra);
                if candidate.cost <= best.0.cost {
                    best = (candidate, Step::Extra);
                }
            }
            let expected = events.notes(&event, chunk.notes());
            for notes in 1..=event.most_notes().min(row) {
                let these = &played[row - notes..row];
                let fit = fit(&costs, &events, column, expected, these);
                if fit.of == [None; MOST] {
                    continue;
                }
                let from = table[row - notes][before].0;
                let timed = aligner.timed(&from, before, &event, played, row - notes, row - 1);
                let candidate = timed.dearer(fit.cost);
                if candidate.cost <= best.0.cost {
                    best = (candidate, Step::Match(notes as u8));
                }
            }
            table[row][column] = best;
        }
    }
    let mut pairs = vec![None; chunk.notes().len()];
    let (mut row, mut column) = (played.len(), columns - 1);
    while column > 0 {
        match table[row][column].1 {
            Step::LeftOut => column -= 1,
            Step::Extra => row -= 1,
            Step::Match(notes) => {
                let event = events.get(column - 1).unwrap();
                let first = row - usize::from(notes);
                let expected = events.notes(&event, chunk.notes());
                let fit = fit(&costs, &events, column, expected, &played[first..row]);
                for (offset, of) in fit.of.iter().enumerate() {
                    if let Some(of) = of {
                        pairs[usize::from(event.first) + usize::from(*of)] = Some(first + offset);
                    }
                }
                row = first;
                column -= 1;
            }
        }
    }
    (table[played.len()][columns - 1].0.cost, pairs)
}
