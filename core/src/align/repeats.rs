//! Which of several equal notes is the missing one.
//!
//! When the same note or chord is written several times in a row and one of them does not
//! come, pitch leaves open which; only time tells. The dynamic programme keeps one
//! explanation a cell, and before it has heard a tempo it may keep the wrong one. Here the
//! gap is put where the pace changes least from one interval to the next.

use super::SMOOTHING;
use super::events::{Event, Events};
use super::milliseconds;
use super::octaves::log2;
use super::pairing::Pairing;
use crate::attempt::PlayedNote;
use crate::study::{Chunk, ExpectedNote};

/// Events of a run that are looked at around a missing one, on each side. Our default: more
/// than a bar of repeated sixteenths, and few enough for the work to stay small.
const REACH: usize = 16;

pub(super) fn settle(
    events: &Events,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pairing: &mut Pairing,
) {
    for missing in 0..events.len() {
        if when(events, played, pairing, missing).is_some() {
            continue;
        }
        let equal = |other: usize| are_equal(events, chunk.notes(), missing, other);
        let present = |other: usize| when(events, played, pairing, other).is_some();
        let first = (missing.saturating_sub(REACH)..missing)
            .rev()
            .take_while(|&other| equal(other) && present(other))
            .last()
            .unwrap_or(missing);
        let last = (missing + 1..events.len().min(missing + 1 + REACH))
            .take_while(|&other| equal(other) && present(other))
            .last()
            .unwrap_or(missing);
        let here = changes_of_pace(events, played, pairing, (first, last), missing, missing);
        let better = (first..=last)
            .map(|gap| (changes_of_pace(events, played, pairing, (first, last), missing, gap), gap))
            .min()
            .filter(|&(changes, _)| changes < here);
        if let Some((_, gap)) = better {
            move_gap(events, pairing, missing, gap);
        }
    }
}

/// How much the pace changes, summed over the intervals of the run and one event on either
/// side, if the gap that is at `missing` were at `gap`.
fn changes_of_pace(
    events: &Events,
    played: &[PlayedNote],
    pairing: &Pairing,
    (first, last): (usize, usize),
    missing: usize,
    gap: usize,
) -> u32 {
    // The event whose notes would be at `event` then.
    let moved = |event: usize| {
        if event == gap {
            // Nothing is there, wherever the gap came from.
            missing
        } else if gap < event && event <= missing {
            event - 1
        } else if missing <= event && event < gap {
            event + 1
        } else {
            event
        }
    };
    let mut before: Option<(u32, u32)> = None;
    let mut pace: Option<i32> = None;
    let mut changes = 0_u32;
    for event in first.saturating_sub(2)..events.len().min(last + 3) {
        let at = when(events, played, pairing, moved(event));
        let (Some(at), Some(due)) = (at, events.get(event).map(|event| event.due)) else {
            continue;
        };
        if let Some((at_before, due_before)) = before {
            let passed = log2(at.saturating_sub(at_before) + SMOOTHING);
            let written = log2(due.saturating_sub(due_before) + SMOOTHING);
            let now = passed - written;
            if let Some(pace) = pace {
                changes = changes.saturating_add(now.abs_diff(pace));
            }
            pace = Some(now);
        }
        before = Some((at, due));
    }
    changes
}

/// Moves the gap at `missing` to `gap`, and what was played in between by one event.
fn move_gap(events: &Events, pairing: &mut Pairing, missing: usize, gap: usize) {
    let mut to = missing;
    while to != gap {
        let from = if gap > to { to + 1 } else { to - 1 };
        if let (Some(a), Some(b)) = (events.get(from), events.get(to)) {
            for offset in 0..usize::from(a.size) {
                let (a, b) = (usize::from(a.first) + offset, usize::from(b.first) + offset);
                if let Some(by) = pairing.played(a) {
                    pairing.part(a);
                    pairing.pair(b, by);
                }
            }
        }
        to = from;
    }
}

fn are_equal(events: &Events, notes: &[ExpectedNote], a: usize, b: usize) -> bool {
    let of = |event: Event| events.notes(&event, notes);
    let (Some(a), Some(b)) = (events.get(a), events.get(b)) else {
        return false;
    };
    a.is_landing() == b.is_landing()
        && a.size == b.size
        && of(a).iter().zip(of(b)).all(|(a, b)| a.pitch == b.pitch && a.string == b.string)
}

/// When the first note of an event was played; `None` if none of it was.
fn when(events: &Events, played: &[PlayedNote], pairing: &Pairing, event: usize) -> Option<u32> {
    let event = events.get(event)?;
    let first = usize::from(event.first);
    (first..first + usize::from(event.size))
        .filter_map(|note| pairing.played(note))
        .filter_map(|by| played.get(by))
        .map(milliseconds)
        .min()
}
