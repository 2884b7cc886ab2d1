//! What it costs to explain some played notes in a row by the notes of one event, in
//! whatever order they came.

use super::costs::Costs;
use super::events::Events;
use crate::attempt::PlayedNote;
use crate::limits::NOTES_TOGETHER;
use crate::study::ExpectedNote;

/// Played notes that one event can explain, at most.
pub(super) const MOST: usize = NOTES_TOGETHER + 2;

/// Which of the event's notes each played note is; filled while costs are reckoned, read
/// when the pairing is written down.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Fit {
    pub(super) cost: u16,
    /// For each played note, the index of the event's note that it is (exact or wrong).
    pub(super) of: [Option<u8>; MOST],
}

/// Explains `played` (oldest first) by `expected`. `reached` counts the events up to and
/// with this one.
///
/// The pitch is matched as a multiset, so order inside a chord is free; where strings are
/// known, the right one is preferred. Notes that are left over on both sides are paired as
/// wrong notes, the cheapest pair first.
pub(super) fn fit(
    costs: &Costs,
    events: &Events,
    reached: usize,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
) -> Fit {
    let mut result = Fit::default();
    let mut taken = [false; NOTES_TOGETHER];
    let mut cost = 0_u16;
    // The right pitch on the right string first, then the right pitch anywhere.
    for right_string in [true, false] {
        for (note, of) in played.iter().zip(&mut result.of) {
            if of.is_some() {
                continue;
            }
            let found = expected.iter().zip(&taken).position(|(wanted, &taken)| {
                !taken
                    && wanted.pitch == note.pitch
                    && (!right_string || same_string(wanted, note) != Some(false))
            });
            if let Some(index) = found {
                *of = Some(index as u8);
                take(&mut taken, index);
                if !right_string {
                    cost = cost.saturating_add(costs.other_string);
                }
            }
        }
    }
    let exact = result.of.iter().flatten().count();
    let mut left_over = played.len().saturating_sub(exact);
    let mut left_out = expected.len().saturating_sub(exact);
    while left_over > 0 && left_out > 0 {
        let Some((by, index, price)) = cheapest_wrong(costs, expected, played, &result, &taken)
        else {
            break;
        };
        if let Some(of) = result.of.get_mut(by) {
            *of = Some(index as u8);
        }
        take(&mut taken, index);
        cost = cost.saturating_add(price);
        left_over -= 1;
        left_out -= 1;
    }
    cost = cost.saturating_add(costs.missing.saturating_mul(left_out as u16));
    for (note, of) in played.iter().zip(&result.of) {
        if of.is_none() {
            let trilled = events.has_trills() && events.trill(note.pitch, reached).is_some();
            cost = cost.saturating_add(if trilled { costs.trilled } else { costs.extra });
        }
    }
    result.cost = cost;
    result
}

fn cheapest_wrong(
    costs: &Costs,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
    so_far: &Fit,
    taken: &[bool],
) -> Option<(usize, usize, u16)> {
    let mut best: Option<(usize, usize, u16)> = None;
    for (by, (note, of)) in played.iter().zip(&so_far.of).enumerate() {
        if of.is_some() {
            continue;
        }
        for (index, (wanted, &taken)) in expected.iter().zip(taken).enumerate() {
            if taken {
                continue;
            }
            let price = wrong(costs, wanted, note);
            if best.is_none_or(|(_, _, cheapest)| price < cheapest) {
                best = Some((by, index, price));
            }
        }
    }
    best
}

/// The cost of `note` in place of `wanted`, whose pitch it has not.
pub(super) fn wrong(costs: &Costs, wanted: &ExpectedNote, note: &PlayedNote) -> u16 {
    let semitones = note.pitch.semitones_above(wanted.pitch).unsigned_abs();
    costs.wrong(semitones, same_string(wanted, note))
}

/// Whether a note was played on the string it is wanted on; `None` where one is unknown.
pub(super) fn same_string(wanted: &ExpectedNote, note: &PlayedNote) -> Option<bool> {
    Some(wanted.string? == note.string?)
}

fn take(taken: &mut [bool], index: usize) {
    if let Some(slot) = taken.get_mut(index) {
        *slot = true;
    }
}
