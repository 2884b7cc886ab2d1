//! What it costs to explain some played notes in a row by the notes of one event, in
//! whatever order they came.

use super::costs::{Costs, is_mistracked, is_right};
use super::events::Events;
use crate::attempt::PlayedNote;
use crate::limits::NOTES_TOGETHER;
use crate::study::{Attack, ExpectedNote};

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
    // The right pitch on the right string first, then the right pitch anywhere; bends last.
    for (bent, right_string) in [(false, true), (false, false), (true, true), (true, false)] {
        for (note, of) in played.iter().zip(&mut result.of) {
            if of.is_some() || note.is_bent() != bent {
                continue;
            }
            let free = expected.iter().zip(&taken).enumerate().filter(|(_, (wanted, taken))| {
                !**taken
                    && is_right(wanted, note)
                    && (!right_string || same_string(wanted, note) != Some(false))
            });
            // A slurred note may be left for a bend, which can be no other.
            let found = free.min_by_key(|(_, (wanted, _))| wanted.attack == Attack::Slurred);
            if let Some((index, _)) = found {
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
            let added = if trilled(note) { costs.trilled } else { costs.added(note) };
            cost = cost.saturating_add(added);
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
    kind: [PlayedKind; MOST],
    slurred: u8,
}

/// What its price depends on when a played note is left over.
#[derive(Clone, Copy, Default)]
struct PlayedKind {
    bent: bool,
    trilled: bool,
    mistracked: bool,
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
            kind: [PlayedKind::default(); MOST],
            slurred: 0,
        };
        for (index, wanted) in expected.iter().enumerate() {
            glance.slurred |= u8::from(wanted.attack == Attack::Slurred) << index;
        }
        let slots = glance.same_pitch.iter_mut().zip(&mut glance.same_place);
        let slots = slots.zip(&mut glance.kind);
        for (note, ((pitch, place), kind)) in played.iter().rev().take(most).zip(slots) {
            for (index, wanted) in expected.iter().enumerate() {
                if is_right(wanted, note) {
                    *pitch |= 1 << index;
                    *place |= u8::from(same_string(wanted, note) != Some(false)) << index;
                }
                kind.mistracked |= is_mistracked(note.pitch.semitones_above(wanted.pitch));
            }
            kind.bent = note.is_bent();
            kind.trilled = events.has_trills() && events.trill(note.pitch, reached).is_some();
        }
        glance
    }

    /// A cost below which [`fit`] will not be for the last `notes` played.
    pub(super) fn at_least(&self, costs: &Costs, notes: usize) -> u16 {
        let mut cost = 0_u16;
        let mut left_over = 0_u32;
        let mut cheapest_wrong = costs.wrong_same_string;
        // No more than this can be in their place.
        let places = self.same_place.iter().take(notes);
        let somewhere = places.clone().filter(|&&place| place != 0).count() as u32;
        let in_place = places.fold(0, |all, place| all | place).count_ones().min(somewhere);
        // As many as can be have the right pitch. A bend can only be a slurred note, so struck
        // notes choose first, and plucked ones first; a bend that is left over costs little.
        let mut anywhere = 0_u8;
        for bent in [false, true] {
            let slots = self.same_pitch.iter().zip(&self.kind).take(notes);
            for (pitch, kind) in slots.filter(|(_, kind)| kind.bent == bent) {
                let free = pitch & !anywhere;
                let plucked = free & !self.slurred;
                let choice = if plucked == 0 { free } else { plucked };
                anywhere |= choice & choice.wrapping_neg();
                if free == 0 && (kind.bent || kind.trilled) {
                    cost += costs.trilled.min(costs.bent);
                } else if free == 0 {
                    left_over += 1;
                    if kind.mistracked {
                        cheapest_wrong = costs.mistracked;
                    }
                }
            }
        }
        let right = anywhere.count_ones();
        let left_out = self.size.saturating_sub(right);
        cost += costs.other_string * right.saturating_sub(in_place) as u16;
        let wrong = left_over.min(left_out);
        cost += cheapest_wrong * wrong as u16;
        cost += costs.missing * (left_out - wrong) as u16;
        cost += costs.extra * (left_over - wrong) as u16;
        cost
    }
}

/// The cost of one played note for an event of one note.
pub(super) fn fit_one(costs: &Costs, wanted: &ExpectedNote, note: &PlayedNote) -> u16 {
    if !is_right(wanted, note) {
        return wrong(costs, wanted, note);
    }
    let elsewhere = same_string(wanted, note) == Some(false);
    if elsewhere { costs.other_string } else { 0 }
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
        if of.is_some() || note.is_bent() || trilled(note) {
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
    costs.wrong(wanted, note, same_string(wanted, note))
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
