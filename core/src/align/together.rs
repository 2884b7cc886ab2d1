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
/// Order inside a chord is free; where strings are known, the right one is preferred. Notes that are left over on both sides are paired as
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
    // A note of a trill that is going on explains itself; it stands in no other's place.
    let trilled = |note: &PlayedNote| events.has_trills() && events.trill(note, reached).is_some();
    // What costs little when it is left over chooses last.
    let ways = [Fits::InPlace, Fits::Mistaken, Fits::Elsewhere, Fits::Bent];
    for (fits, noise) in ways.into_iter().flat_map(|fits| [(fits, false), (fits, true)]) {
        for (note, of) in played.iter().zip(&mut result.of) {
            let chooses = of.is_none() && note.is_noise() == noise;
            if !chooses || (matches!(fits, Fits::Elsewhere) && trilled(note)) {
                continue;
            }
            let free = expected
                .iter()
                .zip(&taken)
                .enumerate()
                .filter(|(_, (wanted, taken))| !**taken && fits.tell(wanted, note));
            // A slurred note may be left for a bend, which can be no other.
            let found = free.min_by_key(|(_, (wanted, _))| wanted.attack == Attack::Slurred);
            if let Some((index, (wanted, _))) = found {
                *of = Some(index as u8);
                cost = cost.saturating_add(fit_one(costs, wanted, note));
                take(&mut taken, index);
            }
        }
    }
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

/// Ways in which a played note can be an expected one, in the order in which they are tried:
/// where strings are known, they say more than pitches that a converter may mistake.
#[derive(Clone, Copy)]
enum Fits {
    /// The right pitch on its string, or on one unknown.
    InPlace,
    /// Another pitch on its string that a converter takes for the right one.
    Mistaken,
    /// The right pitch on another string.
    Elsewhere,
    /// A bend to the right pitch.
    Bent,
}

impl Fits {
    fn tell(self, wanted: &ExpectedNote, note: &PlayedNote) -> bool {
        let elsewhere = same_string(wanted, note) == Some(false);
        match self {
            Self::InPlace => note.is_struck() && is_right(wanted, note) && !elsewhere,
            Self::Mistaken => is_mistaken(wanted, note),
            Self::Elsewhere => note.is_struck() && is_right(wanted, note) && elsewhere,
            Self::Bent => !note.is_struck() && is_right(wanted, note),
        }
    }
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
    struck: bool,
    noise: bool,
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
            kind.struck = note.is_struck();
            kind.noise = note.is_noise();
            kind.trilled = events.has_trills() && events.trill(note, reached).is_some();
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
        for (struck, noise) in [(true, false), (true, true), (false, true)] {
            let slots = self.same_pitch.iter().zip(&self.kind).take(notes);
            let chosen = |kind: &PlayedKind| (kind.struck, kind.noise) == (struck, noise);
            for (pitch, kind) in slots.filter(|(_, kind)| chosen(kind)) {
                let free = pitch & !anywhere;
                let plucked = free & !self.slurred;
                let choice = if plucked == 0 { free } else { plucked };
                anywhere |= choice & choice.wrapping_neg();
                if free == 0 && (kind.noise || kind.trilled) {
                    cost += costs.trilled.min(costs.not_struck);
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
        if of.is_some() || note.is_noise() || trilled(note) {
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

/// Whether a converter may have taken the wanted note for this one.
pub(super) fn is_mistaken(wanted: &ExpectedNote, note: &PlayedNote) -> bool {
    note.is_struck()
        && same_string(wanted, note) == Some(true)
        && is_mistracked(note.pitch.semitones_above(wanted.pitch))
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
