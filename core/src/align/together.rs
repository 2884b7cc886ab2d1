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
    // A note of a trill that is going on explains itself; it stands in no other's place.
    let trilled =
        |note: &PlayedNote| events.has_trills() && events.trill(note.pitch, reached).is_some();
    while let Some((by, index, price)) =
        cheapest_wrong(costs, expected, played, &result, &taken, trilled)
    {
        if let Some(of) = result.of.get_mut(by) {
            *of = Some(index as u8);
        }
        take(&mut taken, index);
        cost = cost.saturating_add(price);
    }
    let paired = result.of.iter().flatten().count();
    let left_out = expected.len().saturating_sub(paired) as u16;
    cost = cost.saturating_add(costs.missing.saturating_mul(left_out));
    for (note, of) in played.iter().zip(&result.of) {
        if of.is_none() {
            cost = cost.saturating_add(if trilled(note) { costs.trilled } else { costs.extra });
        }
    }
    result.cost = cost;
    result
}

/// Which of an event's notes each of the last played notes could be, as bits: enough to say
/// quickly that an explanation cannot be the cheapest.
pub(super) struct Glance {
    same_pitch: [u8; MOST],
    same_place: [u8; MOST],
    size: u32,
    trilled: [bool; MOST],
}

impl Glance {
    /// Looks at the last `most` of `played`.
    pub(super) fn at(
        events: &Events,
        reached: usize,
        expected: &[ExpectedNote],
        played: &[PlayedNote],
        most: usize,
    ) -> Self {
        let mut glance = Self {
            same_pitch: [0; MOST],
            same_place: [0; MOST],
            size: expected.len() as u32,
            trilled: [false; MOST],
        };
        let slots = glance.same_pitch.iter_mut().zip(&mut glance.same_place);
        let slots = slots.zip(&mut glance.trilled);
        for (note, ((pitch, place), trilled)) in played.iter().rev().take(most).zip(slots) {
            for (index, wanted) in expected.iter().enumerate() {
                if wanted.pitch == note.pitch {
                    *pitch |= 1 << index;
                    *place |= u8::from(same_string(wanted, note) != Some(false)) << index;
                }
            }
            *trilled = events.has_trills() && events.trill(note.pitch, reached).is_some();
        }
        glance
    }

    /// A cost below which [`fit`] will not be for the last `notes` played.
    pub(super) fn at_least(&self, costs: &Costs, notes: usize) -> u16 {
        let mut taken = 0_u8;
        let mut cost = 0_u16;
        let mut left_over = 0_u32;
        for place in self.same_place.iter().take(notes) {
            let free = place & !taken;
            taken |= free & free.wrapping_neg();
        }
        // As many as can be are in their place; the rest of the right pitches are elsewhere.
        let in_place = taken.count_ones();
        let mut anywhere = 0_u8;
        for (pitch, trilled) in self.same_pitch.iter().zip(&self.trilled).take(notes) {
            let free = pitch & !anywhere;
            anywhere |= free & free.wrapping_neg();
            if free == 0 && *trilled {
                cost += costs.trilled;
            } else if free == 0 {
                left_over += 1;
            }
        }
        let right = anywhere.count_ones();
        let left_out = self.size.saturating_sub(right);
        cost += costs.other_string * right.saturating_sub(in_place) as u16;
        let wrong = left_over.min(left_out);
        cost += costs.wrong_same_string * wrong as u16;
        cost += costs.missing * (left_out - wrong) as u16;
        cost += costs.extra * (left_over - wrong) as u16;
        cost
    }
}

/// The cost of one played note for an event of one note.
pub(super) fn fit_one(costs: &Costs, wanted: &ExpectedNote, note: &PlayedNote) -> u16 {
    if wanted.pitch != note.pitch {
        return wrong(costs, wanted, note);
    }
    if same_string(wanted, note) == Some(false) { costs.other_string } else { 0 }
}

fn cheapest_wrong(
    costs: &Costs,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
    so_far: &Fit,
    taken: &[bool],
    trilled: impl Fn(&PlayedNote) -> bool,
) -> Option<(usize, usize, u16)> {
    let mut best: Option<(usize, usize, u16)> = None;
    for (by, (note, of)) in played.iter().zip(&so_far.of).enumerate() {
        if of.is_some() || trilled(note) {
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
