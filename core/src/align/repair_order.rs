//! What the dynamic programme cannot say: notes played out of order.
//!
//! It keeps events in order, so of two notes that changed places it finds one, and calls the
//! other both missing and extra. The same happens to a note of a chord that comes after the
//! next note has begun. Here each missing note looks among the extra ones for itself, near
//! where it was due; then for a wrong note in its place.
//!
//! "Near" is reckoned in the written notes around it at the tempo they were played, never
//! in fixed milliseconds.

use super::costs::{Costs, NOWHERE, is_out_of_reach, is_right};
use super::events::{Events, MILLI_SHIFT};
use super::pairing::{PairingMut, Role};
use super::{STEP_BACK, milliseconds, together};
use crate::attempt::PlayedNote;
use crate::limits::EXPECTED_NOTES;
use crate::study::ExpectedNote;
use heapless::Vec;

/// How far from where it was due a right note may have been played, in per cent of the
/// distance to the neighbouring events: a little over one, for a swap of neighbours, and the
/// unsteadiness of both. Our default.
const REACH_RIGHT: u32 = 140;

/// The same for a wrong note. Our default.
const REACH_WRONG: u32 = 60;

/// The same for a pitch that is out of reach, where strings are not known: nobody meant it for that note, but
/// where it comes in its very time a converter may have taken the one for the other. Our default.
const REACH_BEYOND: u32 = 15;

pub(super) fn repair(
    costs: &Costs,
    events: &Events,
    notes: &[ExpectedNote],
    played: &[PlayedNote],
    pairing: &mut PairingMut<'_>,
) {
    let mut wrong: Vec<(u16, u16), EXPECTED_NOTES> = Vec::new();
    for (index, note) in notes.iter().enumerate() {
        if let Some(by) = pairing.played(index)
            && played.get(by).is_some_and(|played| {
                played.pitch != note.pitch && !together::is_mistaken(note, played)
            })
        {
            let _ = wrong.push((index as u16, by as u16));
        }
    }
    // A wrong note may turn out to be right elsewhere (but not one that a converter may have
    // taken for the right one), so it is let go before the search.
    for &(index, _) in &wrong {
        pairing.part(usize::from(index));
    }
    let missing = |pairing: &PairingMut<'_>, index: usize| pairing.played(index).is_none();
    for (index, note) in notes.iter().enumerate() {
        if missing(pairing, index) {
            let found = nearest(events, played, pairing, index, REACH_RIGHT, &|played| {
                is_right(note, played)
                    .then(|| together::same_string(note, played) == Some(false))
                    .map(u32::from)
            });
            if let Some(by) = found {
                pairing.pair(index, by);
            }
        }
    }
    for &(index, by) in &wrong {
        let (index, by) = (usize::from(index), usize::from(by));
        if missing(pairing, index) && pairing.role(by) == Role::Extra {
            pairing.pair(index, by);
        }
    }
    // Notes of a trill are told before the search for wrong notes could take them.
    if events.has_trills() {
        assign_trills(events, played, pairing);
    }
    for (index, note) in notes.iter().enumerate() {
        if missing(pairing, index) {
            let found = nearest(events, played, pairing, index, REACH_WRONG, &|played| {
                let cost = together::wrong(costs, note, played);
                (played.is_struck() && cost != NOWHERE).then_some(u32::from(cost))
            });
            let found = found.or_else(|| {
                nearest(events, played, pairing, index, REACH_BEYOND, &|played| {
                    let is_unknown =
                        played.is_struck() && together::same_string(note, played).is_none();
                    let semitones = played.pitch.semitones_above(note.pitch);
                    (is_unknown && is_out_of_reach(semitones)).then_some(0)
                })
            });
            if let Some(by) = found {
                pairing.pair(index, by);
            }
        }
    }
}

/// The extra note nearest to where the expected note `index` was due, within `reach` per
/// cent of its neighbours' distance. Of those, a smaller `rank` comes first.
fn nearest(
    events: &Events,
    played: &[PlayedNote],
    pairing: &PairingMut<'_>,
    index: usize,
    reach: u32,
    rank: &dyn Fn(&PlayedNote) -> Option<u32>,
) -> Option<usize> {
    let (due, before, after) = due(events, played, pairing, index)?;
    let earliest = due.saturating_sub(before.saturating_mul(reach) / 100);
    let latest = due.saturating_add(after.saturating_mul(reach) / 100);
    let mut best: Option<(u32, u32, usize)> = None;
    // Times may step back by as much, so the search begins before and ends after.
    let from = played.partition_point(|note| milliseconds(note) + STEP_BACK < earliest);
    for (by, note) in played.iter().enumerate().skip(from) {
        if milliseconds(note) > latest.saturating_add(STEP_BACK) {
            break;
        }
        if !(earliest..=latest).contains(&milliseconds(note)) {
            continue;
        }
        let distance = milliseconds(note).abs_diff(due);
        if pairing.role(by) != Role::Extra {
            continue;
        }
        if let Some(rank) = rank(note)
            && best.is_none_or(|(r, d, _)| (rank, distance) < (r, d))
        {
            best = Some((rank, distance, by));
        }
    }
    best.map(|(_, _, by)| by)
}

/// When an expected note was due, judged by the notes around it, and how far apart events
/// are there; both in milliseconds as played.
fn due(
    events: &Events,
    played: &[PlayedNote],
    pairing: &PairingMut<'_>,
    index: usize,
) -> Option<(u32, u32, u32)> {
    let event = events.event_of(index);
    let written = events.get(event)?.due;
    let when = |event: usize| -> Option<u32> {
        let at = events.get(event)?;
        let first = usize::from(at.first);
        (first..first + usize::from(at.size))
            .filter(|&note| note != index)
            .filter_map(|note| pairing.played(note))
            .filter_map(|by| played.get(by))
            .map(milliseconds)
            .min()
    };
    let known = |event: usize| -> Option<(usize, u32, u32)> {
        Some((event, events.get(event)?.due, when(event)?))
    };
    let earlier = |than: usize| (0..than).rev().find_map(known);
    let later = |than: usize| (than + 1..events.len()).find_map(known);
    // A neighbour may be the very note that changed places with this one, so the tempo is
    // taken from the events beyond the neighbours; at an end, from two on the one side.
    let before = event.checked_sub(1).and_then(earlier);
    let after = later(event + 1);
    let beyond = match (before, after) {
        (Some(before), Some(after)) => Some((before, after)),
        (Some(before), None) => earlier(before.0).map(|from| (from, before)),
        (None, Some(after)) => later(after.0).map(|to| (after, to)),
        (None, None) => None,
    };
    // Where there are too few, from the neighbours after all.
    let near = || -> Option<_> {
        let (before, after) = (earlier(event), later(event));
        match (before, after) {
            (Some(before), Some(after)) => Some((before, after)),
            (Some(before), None) => Some((earlier(before.0)?, before)),
            (None, Some(after)) => Some((after, later(after.0)?)),
            (None, None) => None,
        }
    };
    let (from, to) = beyond.or_else(near)?;
    let (written_apart, played_apart) =
        (to.1.saturating_sub(from.1).max(1), to.2.saturating_sub(from.2));
    let scale = |distance: u32| {
        (u64::from(distance) * u64::from(played_apart) / u64::from(written_apart)) as u32
    };
    let due = when(event).unwrap_or_else(|| {
        if written >= from.1 {
            from.2.saturating_add(scale(written - from.1))
        } else {
            from.2.saturating_sub(scale(from.1 - written))
        }
    });
    let gap_before = event.checked_sub(1).and_then(|e| events.get(e)).map(|e| written - e.due);
    let gap_after = events.get(event + 1).map(|e| e.due - written);
    // Real chords spread over 50 ms at most (99 %, measured on GuitarSet): so much is always
    // near.
    let near = |gap: Option<u32>, other: Option<u32>| {
        scale(gap.or(other).unwrap_or(0)).max(50_000 >> MILLI_SHIFT)
    };
    Some((due, near(gap_before, gap_after), near(gap_after, gap_before)))
}

fn assign_trills(events: &Events, played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    let mut reached = 0;
    for (by, note) in played.iter().enumerate() {
        match pairing.role(by) {
            Role::Note(index) => reached = reached.max(events.event_of(index) + 1),
            Role::Extra => {
                if let Some(trill) = events.trill(note, reached) {
                    pairing.trill(usize::from(trill.note), by);
                }
            }
            Role::Trill(_) => {}
        }
    }
}
