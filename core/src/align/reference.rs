//! Slow and obvious alignments, to hold the fast one against.

extern crate std;

use super::Manner;
use super::costs::{Costs, NOWHERE, is_right};
use super::events::{Events, Full};
use super::pace::Pace;
use super::table::{Cell, Step};
use super::together::{is_mistaken, same_string, wrong};
use crate::attempt::PlayedNote;
use crate::study::{Attack, Chunk, ExpectedNote};
use std::vec;
use std::vec::Vec;

/// The cheapest explanation without regard to time, by trying everything.
pub(super) fn cheapest(costs: &Costs, chunk: &Chunk<'_>, played: &[PlayedNote]) -> u32 {
    let events: &Events = &Full::of(chunk);
    from(costs, events, chunk, played, 0)
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
    let expected = event.notes(chunk.notes());
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
            wrong(costs, wanted, &note)
        };
        assign(costs, others, &rest, true).map(|cost| cost + u32::from(price))
    });
    without.into_iter().chain(with).min()
}

/// What a note costs as an expected one in some way, if it can be that.
type MatchKind<'a> = dyn Fn(&ExpectedNote, &PlayedNote) -> Option<u16> + 'a;

/// What [`super::together::fit`] finds, note by note, and its cost; `None` if nothing is paired.
pub(super) fn fit(
    costs: &Costs,
    events: &Events,
    reached: usize,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
) -> Option<(u16, Vec<Option<usize>>)> {
    let mut of: Vec<Option<usize>> = vec![None; played.len()];
    let mut cost = 0;
    let is_trilled = |note: &PlayedNote| events.trill(note, reached).is_some();
    let elsewhere =
        |wanted: &ExpectedNote, note: &PlayedNote| same_string(wanted, note) == Some(false);
    let ways: [&MatchKind<'_>; 4] =
        [
            &|wanted, note| {
                (is_right(wanted, note) && note.is_struck() && !elsewhere(wanted, note))
                    .then_some(0)
            },
            &|wanted, note| is_mistaken(wanted, note).then_some(costs.mistracked),
            &|wanted, note| {
                (is_right(wanted, note) && note.is_struck() && elsewhere(wanted, note))
                    .then_some(costs.other_string)
                    .filter(|_| !is_trilled(note))
            },
            &|wanted, note| {
                (is_right(wanted, note) && !note.is_struck())
                    .then_some(if elsewhere(wanted, note) { costs.other_string } else { 0 })
            },
        ];
    for way in ways {
        for noise in [false, true] {
            for (by, note) in played.iter().enumerate() {
                if of[by].is_some() || note.is_noise() != noise {
                    continue;
                }
                let free = (0..expected.len()).filter(|index| !of.contains(&Some(*index)));
                let fitting = free.filter(|&index| way(&expected[index], note).is_some());
                // A slurred note may be left for a bend.
                let first = fitting.min_by_key(|&index| expected[index].attack == Attack::Slurred);
                if let Some(index) = first {
                    of[by] = Some(index);
                    cost += way(&expected[index], note).unwrap();
                }
            }
        }
    }
    loop {
        let stands_for_none = |by: &usize| played[*by].is_noise() || is_trilled(&played[*by]);
        let open = (0..played.len()).filter(|by| of[*by].is_none() && !stands_for_none(by));
        let free = |by| (0..expected.len()).map(move |index| (by, index));
        let pairs = open.flat_map(free).filter(|(_, index)| !of.contains(&Some(*index)));
        let price = |&(by, index): &(usize, usize)| wrong(costs, &expected[index], &played[by]);
        let possible = pairs.filter(|pair| price(pair) != NOWHERE);
        let Some((by, index)) = possible.min_by_key(price) else { break };
        cost += price(&(by, index));
        of[by] = Some(index);
    }
    let pairs = of.iter().flatten().count();
    cost += costs.missing * (expected.len() - pairs) as u16;
    // What trails a note is cheaper beside an event than in it, where it may be one of its notes.
    let beside = |note: &PlayedNote| if note.is_noise() { costs.not_struck } else { costs.extra };
    for (note, _) in played.iter().zip(&of).filter(|(_, of)| of.is_none()) {
        cost += if is_trilled(note) { costs.trilled } else { beside(note) };
    }
    (pairs > 0).then_some((cost, of))
}

/// The same dynamic programme as [`Aligner`], with the whole table in memory: which played
/// note each expected note is paired with, before the second look.
pub(super) fn whole_table(chunk: &Chunk<'_>, played: &[PlayedNote]) -> (u16, Vec<Option<usize>>) {
    let events: &Events = &Full::of(chunk);
    let costs = Costs::DEFAULT;
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
            let left_out =
                if event.is_landing() { 0 } else { costs.missing * u16::from(event.size) };
            let mut best = (table[row][before].0.dearer(left_out), Step::LeftOut);
            if let Some(above) = row.checked_sub(1) {
                let trilled = events.is_trilled(
                    Manner::OneAttempt,
                    &played[above],
                    column,
                    &table[above][column].0,
                    played,
                );
                let added = costs.added(&played[above]);
                let extra = if trilled { costs.trilled } else { added };
                let candidate = table[above][column].0.dearer(extra);
                if candidate.cost <= best.0.cost {
                    best = (candidate, Step::Extra);
                }
            }
            let expected = event.notes(chunk.notes());
            for notes in 1..=event.most_notes().min(row) {
                let these = &played[row - notes..row];
                let Some((cost, _)) = fit(&costs, events, column, expected, these) else {
                    continue;
                };
                let from = table[row - notes][before].0;
                let first = row - notes;
                let mut pace = Pace::of(&costs, events.list(), played, first);
                let time = pace.time(&from, &event, u16::MAX).unwrap();
                let cost = from.cost + cost + time.price + pace.spread(&event, row - 1);
                let candidate = from.matched(before, first, cost, time.tempo);
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
                let expected = event.notes(chunk.notes());
                let these = &played[first..row];
                let (_, of) = fit(&costs, events, column, expected, these).unwrap();
                for (offset, of) in of.iter().enumerate() {
                    if let Some(of) = of {
                        pairs[usize::from(event.first) + of] = Some(first + offset);
                    }
                }
                row = first;
                column -= 1;
            }
        }
    }
    (table[played.len()][columns - 1].0.cost, pairs)
}
