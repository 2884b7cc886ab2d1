//! Which of several equal notes or figures is the missing one.
//!
//! When the same note, chord or figure is written several times in a row and one of them does
//! not come, pitch leaves open which; only time tells. The dynamic programme keeps one
//! explanation a cell, and before it has heard a tempo it may keep the wrong one. Here a gap
//! is slid along the repetition to where the pace changes least from one interval to the next.
//! Where time leaves it open, too (the player went on as if nothing were missing), the gap goes
//! to the middle of the places that remain: there it is least wrong, wherever it was.

use super::events::{Event, Events};
use super::milliseconds;
use super::octaves::scaled;
use super::pace::Evenness;
use super::pairing::Pairing;
use crate::attempt::PlayedNote;
use crate::study::{Chunk, ExpectedNote};

/// Events that a gap is slid at most, in each direction. Our default: two bars of sixteenths,
/// and few enough for the work to stay small.
const REACH: usize = 32;

/// The longest figure of which a repetition is looked for, in events. Our default: half a bar of
/// sixteenths.
const FIGURE: usize = 8;

/// A change of pace, in 256ths of an octave, that makes a place half as likely. Our default.
const HALF_AS_LIKELY: u32 = 128;

/// A gap: some neighbouring events of which nothing was played, and by how many events they are
/// slid.
#[derive(Clone, Copy)]
struct Slide {
    /// The first event that is missing.
    first: usize,
    /// How many are.
    length: usize,
    /// The place of the first one afterwards.
    to: usize,
}

impl Slide {
    /// The event whose notes are at `event` afterwards; `None` if nothing is.
    fn source(self, event: usize) -> Option<usize> {
        let Self { first, length, to } = self;
        if (to..to + length).contains(&event) {
            None
        } else if (to + length..first + length).contains(&event) {
            Some(event - length)
        } else if (first..to).contains(&event) {
            Some(event + length)
        } else {
            Some(event)
        }
    }
}

pub(super) fn settle(
    events: &Events,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pairing: &mut Pairing,
) {
    let is_missing =
        |pairing: &Pairing, event: usize| when(events, played, pairing, event).is_none();
    let mut first = 0;
    while first < events.len() {
        let gap = (first..events.len()).take_while(|&event| is_missing(pairing, event)).count();
        if gap > 0 {
            settle_gap(events, chunk, played, pairing, (first, gap));
        }
        first += gap.max(1);
    }
}

/// Slides the gap, or as much of it as is better elsewhere.
fn settle_gap(
    events: &Events,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pairing: &mut Pairing,
    (first, gap): (usize, usize),
) {
    for length in (1..=gap.min(FIGURE)).rev() {
        let may_pass = |pairing: &Pairing, from: usize, to: usize| {
            are_equal(events, chunk.notes(), from, to)
                || when(events, played, pairing, from).is_none()
        };
        // What is missing at the gap's beginning slides back, what is at its end forth.
        let back = (1..=REACH.min(first))
            .take_while(|&by| may_pass(pairing, first - by, first - by + length))
            .count();
        let last = first + gap - length;
        let forth = (1..=REACH)
            .take_while(|&by| {
                let from = last + length + by - 1;
                from < events.len() && may_pass(pairing, from, from - length)
            })
            .count();
        let range = (first - back, last + forth + length);
        let cost = |slide: Slide| changes_of_pace(events, played, pairing, range, slide);
        let slides = || {
            let back = (first - back..=first).map(|to| Slide { first, length, to });
            back.chain((last..=last + forth).map(|to| Slide { first: last, length, to }))
        };
        if back + forth == 0 {
            continue;
        }
        let best = slides().map(cost).min().unwrap_or(0);
        let weight = |slide: Slide| {
            let dearer = (cost(slide) - best).min(20 * HALF_AS_LIKELY);
            scaled(1 << 20, -((dearer * 256 / HALF_AS_LIKELY) as i32))
        };
        let whole: u32 = slides().map(weight).sum();
        let mut below = 0;
        let middle = slides().find(|&slide| {
            below += weight(slide);
            2 * below > whole
        });
        if let Some(slide) = middle {
            if length < gap
                && cost(slide) + 3 * HALF_AS_LIKELY > cost(Slide { first, length, to: first })
            {
                continue;
            }
            apply(events, pairing, slide);
            if length < gap {
                return;
            }
        }
    }
}

/// How much the pace changes, summed over the intervals of these events and two on either
/// side, after a slide.
fn changes_of_pace(
    events: &Events,
    played: &[PlayedNote],
    pairing: &Pairing,
    (from, to): (usize, usize),
    slide: Slide,
) -> u32 {
    let mut evenness = Evenness::START;
    for event in from.saturating_sub(2)..events.len().min(to + 2) {
        let at = slide.source(event).and_then(|source| when(events, played, pairing, source));
        let Some(due) = events.get(event).map(|event| event.due) else { continue };
        evenness.take(at, due);
    }
    evenness.changes()
}

/// Moves what was played, one event after the other.
fn apply(events: &Events, pairing: &mut Pairing, slide: Slide) {
    let Slide { first, length, to } = slide;
    if to < first {
        for event in (to..first).rev() {
            move_notes(events, pairing, event, event + length);
        }
    } else {
        for event in first..to {
            move_notes(events, pairing, event + length, event);
        }
    }
}

fn move_notes(events: &Events, pairing: &mut Pairing, from: usize, to: usize) {
    if let (Some(from), Some(to)) = (events.get(from), events.get(to)) {
        for offset in 0..usize::from(from.size) {
            let (from, to) = (usize::from(from.first) + offset, usize::from(to.first) + offset);
            if let Some(by) = pairing.played(from) {
                pairing.part(from);
                pairing.pair(to, by);
            }
        }
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
