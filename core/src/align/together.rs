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
/// Order inside a chord is free; where strings are known, the right one is preferred. Notes that
/// are left over on both sides are paired as wrong notes, the cheapest pair first.
pub(super) fn fit(
    costs: &Costs,
    events: &Events,
    reached: usize,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
) -> Fit {
    Glance::at(events, reached, expected, played, MOST).fit(costs, expected, played)
}

/// Ways in which a played note can be an expected one, in the order in which they are tried:
/// where strings are known, they say more than pitches that a converter may mistake, and what
/// costs little when it is left over chooses last.
#[derive(Clone, Copy, PartialEq, Eq)]
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

/// The order.
const WAYS: [Fits; 4] = [Fits::InPlace, Fits::Mistaken, Fits::Elsewhere, Fits::Bent];

/// What a played note could be: for each way, the event's notes as bits.
#[derive(Clone, Copy, Default)]
struct Seen {
    ways: [u8; WAYS.len()],
    /// Notes of the event that are wanted on another string.
    other_string: u8,
    struck: bool,
    noise: bool,
    trilled: bool,
    mistracked: bool,
}

impl Seen {
    fn as_a(&self, fits: Fits) -> u8 {
        self.ways.get(fits as usize).copied().unwrap_or(0)
    }

    /// Notes of its pitch that it can be.
    fn right(&self) -> u8 {
        self.as_a(Fits::InPlace) | self.as_a(Fits::Elsewhere) | self.as_a(Fits::Bent)
    }
}

/// Which of an event's notes each of the last played notes could be, as bits: enough to say
/// quickly that an explanation cannot be the cheapest.
pub(super) struct Glance {
    /// The latest note first.
    notes: [Seen; MOST],
    size: u32,
    slurred: u8,
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
        let mut glance =
            Self { notes: [Seen::default(); MOST], size: expected.len() as u32, slurred: 0 };
        for (index, wanted) in expected.iter().enumerate() {
            glance.slurred |= u8::from(wanted.attack == Attack::Slurred) << index;
        }
        let has_trills = events.has_trills();
        for (note, seen) in played.iter().rev().take(most).zip(&mut glance.notes) {
            seen.struck = note.is_struck();
            seen.noise = note.is_noise();
            // A note of a trill that is going on explains itself; it stands in no other's place.
            seen.trilled = has_trills && events.trill(note, reached).is_some();
            for (index, wanted) in expected.iter().enumerate() {
                let bit = 1 << index;
                let elsewhere = same_string(wanted, note) == Some(false);
                seen.other_string |= if elsewhere { bit } else { 0 };
                let way = if !is_right(wanted, note) {
                    let mistracked = is_mistracked(note.pitch.semitones_above(wanted.pitch));
                    seen.mistracked |= mistracked;
                    if !(mistracked && is_mistaken(wanted, note)) {
                        continue;
                    }
                    Fits::Mistaken
                } else if !seen.struck {
                    Fits::Bent
                } else if elsewhere {
                    Fits::Elsewhere
                } else {
                    Fits::InPlace
                };
                if let Some(bits) = seen.ways.get_mut(way as usize) {
                    *bits |= bit;
                }
            }
        }
        glance
    }

    /// A cost below which [`Glance::fit`] will not be for the last `notes` played.
    pub(super) fn at_least(&self, costs: &Costs, notes: usize) -> u16 {
        let mut cost = 0_u16;
        let mut left_over = 0_u32;
        let mut cheapest_wrong = costs.wrong_same_string;
        // No more than this can be in their place.
        let places = self.notes.iter().take(notes).map(|seen| seen.right() & !seen.other_string);
        let somewhere = places.clone().filter(|&place| place != 0).count() as u32;
        let in_place = places.fold(0, |all, place| all | place).count_ones().min(somewhere);
        // As many as can be have the right pitch. A bend can only be a slurred note, so struck
        // notes choose first, and plucked ones first; a bend that is left over costs little.
        let mut anywhere = 0_u8;
        for (struck, noise) in [(true, false), (true, true), (false, true)] {
            let chosen = |seen: &&Seen| (seen.struck, seen.noise) == (struck, noise);
            for seen in self.notes.iter().take(notes).filter(chosen) {
                let free = seen.right() & !anywhere;
                anywhere |= lowest(free, self.slurred);
                if free == 0 && (seen.noise || seen.trilled) {
                    cost += costs.trilled.min(costs.not_struck);
                } else if free == 0 {
                    left_over += 1;
                    if seen.mistracked {
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

    /// Explains `played`, the last notes that were looked at (oldest first), by `expected`.
    pub(super) fn fit(
        &self,
        costs: &Costs,
        expected: &[ExpectedNote],
        played: &[PlayedNote],
    ) -> Fit {
        let count = played.len().min(MOST);
        let mut result = Fit::default();
        let mut taken = 0_u8;
        let mut cost = 0_u16;
        let seen = || self.notes.iter().take(count).rev();
        for fits in WAYS {
            if seen().all(|seen| seen.as_a(fits) == 0) {
                continue;
            }
            for noise in [false, true] {
                for (seen, of) in seen().zip(&mut result.of) {
                    let chooses = of.is_none() && seen.noise == noise;
                    if !chooses || (fits == Fits::Elsewhere && seen.trilled) {
                        continue;
                    }
                    // A slurred note may be left for a bend, which can be no other.
                    let bit = lowest(seen.as_a(fits) & !taken, self.slurred);
                    if bit == 0 {
                        continue;
                    }
                    taken |= bit;
                    *of = Some(bit.trailing_zeros() as u8);
                    let price = match fits {
                        Fits::Mistaken => costs.mistracked,
                        _ if seen.other_string & bit != 0 => costs.other_string,
                        _ => 0,
                    };
                    cost = cost.saturating_add(price);
                }
            }
        }
        while let Some((by, index, price)) =
            self.cheapest_wrong(costs, expected, played, &result, taken)
        {
            if let Some(of) = result.of.get_mut(by) {
                *of = Some(index as u8);
            }
            taken |= 1 << index;
            cost = cost.saturating_add(price);
        }
        let left_out = self.size.saturating_sub(taken.count_ones()) as u16;
        cost = cost.saturating_add(costs.missing.saturating_mul(left_out));
        for ((note, seen), of) in played.iter().zip(seen()).zip(&result.of) {
            if of.is_none() {
                let added = if seen.trilled { costs.trilled } else { costs.added(note) };
                cost = cost.saturating_add(added);
            }
        }
        result.cost = cost;
        result
    }

    fn cheapest_wrong(
        &self,
        costs: &Costs,
        expected: &[ExpectedNote],
        played: &[PlayedNote],
        so_far: &Fit,
        taken: u8,
    ) -> Option<(usize, usize, u16)> {
        let mut best: Option<(usize, usize, u16)> = None;
        let count = played.len().min(MOST);
        let seen = self.notes.iter().take(count).rev();
        for (by, ((note, seen), of)) in played.iter().zip(seen).zip(&so_far.of).enumerate() {
            if of.is_some() || seen.noise || seen.trilled {
                continue;
            }
            for (index, wanted) in expected.iter().enumerate() {
                if taken & (1 << index) != 0 {
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
}

/// The first of some notes, as its bit: of those that are not slurred, if there are any.
const fn lowest(free: u8, slurred: u8) -> u8 {
    let plucked = free & !slurred;
    let choice = if plucked == 0 { free } else { plucked };
    choice & choice.wrapping_neg()
}

/// The cost of one played note for an event of one note.
pub(super) fn fit_one(costs: &Costs, wanted: &ExpectedNote, note: &PlayedNote) -> u16 {
    if !is_right(wanted, note) {
        return wrong(costs, wanted, note);
    }
    let elsewhere = same_string(wanted, note) == Some(false);
    if elsewhere { costs.other_string } else { 0 }
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
