//! What it costs to explain some played notes in a row by the notes of one event, in
//! whatever order they came.

use super::costs::{Costs, is_near, is_out_of_reach, is_right};
use super::events::Events;
use crate::attempt::{Onset, PlayedNote};
use crate::limits::NOTES_TOGETHER;
use crate::study::{Attack, ExpectedNote};
use crate::units::is_partial;

/// Played notes that one event can explain, at most.
pub(super) const MOST: usize = NOTES_TOGETHER + 2;

/// Explains `played` (oldest first) by `expected`: for each of them, the index of the event's note
/// that it is, right or wrong. `reached` counts the events up to and with this one.
///
/// Order inside a chord is free; where strings are known, the right one is preferred. Notes that
/// are left over on both sides are paired as wrong notes, the cheapest pair first.
pub(super) fn fit(
    costs: &Costs,
    events: &Events,
    reached: usize,
    expected: &[ExpectedNote],
    played: &[PlayedNote],
) -> [Option<u8>; MOST] {
    let count = played.len().min(MOST);
    let mut of = [None; MOST];
    let mut pair = |back: usize, index| {
        if let Some(of) = of.get_mut(count - 1 - back) {
            *of = Some(index);
        }
    };
    MatchBits::at(events, reached, expected, played, count).assign(costs, count, &mut pair);
    of
}

/// Ways in which a played note can stand for an expected one, in the order in which they are
/// tried: where strings are known, they say more than pitches that a converter may mistake, what
/// costs little when it is left over chooses last, and wrong notes take what nobody wanted, the
/// cheapest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd)]
enum MatchKind {
    /// The right pitch on its string, or on one unknown.
    InPlace,
    /// Another pitch on its string that a converter takes for the right one.
    Mistaken,
    /// The right pitch on another string.
    Elsewhere,
    /// A bend to the right pitch.
    Bent,
    /// A wrong pitch on its string.
    WrongOnItsString,
    /// A wrong pitch near by.
    WrongNear,
    /// Another wrong pitch within reach.
    WrongFar,
    /// What a lifted finger leaves, on another string.
    WrongTrailing,
}

impl MatchKind {
    const ALL: [Self; 8] = [
        Self::InPlace,
        Self::Mistaken,
        Self::Elsewhere,
        Self::Bent,
        Self::WrongOnItsString,
        Self::WrongNear,
        Self::WrongFar,
        Self::WrongTrailing,
    ];

    #[inline(always)]
    const fn bit(self) -> u8 {
        1 << self as u8
    }

    #[inline(always)]
    fn is_wrong(self) -> bool {
        self >= Self::WrongOnItsString
    }

    #[inline(always)]
    const fn price(self, costs: &Costs) -> u16 {
        match self {
            Self::InPlace | Self::Bent => 0,
            Self::Mistaken => costs.mistracked,
            Self::Elsewhere => costs.other_string,
            Self::WrongOnItsString => costs.wrong_same_string,
            Self::WrongNear => costs.wrong_near,
            Self::WrongFar => costs.wrong_far,
            Self::WrongTrailing => costs.wrong_at_most(),
        }
    }
}

// The cheapest pair of wrong notes first: the order of the ways is the order of their prices.
const _: () = {
    let costs = Costs::DEFAULT;
    assert!(
        costs.mistracked < costs.wrong_same_string && costs.wrong_same_string < costs.wrong_near
    );
    assert!(costs.wrong_near < costs.wrong_far && costs.wrong_far < costs.wrong_at_most());
};

/// What a played note could be: for each way, the event's notes as bits.
#[derive(Clone, Copy, Default)]
struct Seen {
    ways: [u8; MatchKind::ALL.len()],
    /// Notes of the event that are wanted on another string.
    other_string: u8,
}

impl Seen {
    fn of(note: &PlayedNote, expected: &[ExpectedNote], slurred: u8) -> Self {
        let (mut equal, mut near, mut beyond) = (0, 0, 0);
        let mut bit = 1_u8;
        for wanted in expected {
            let semitones = note.pitch.semitones_above(wanted.pitch);
            if is_near(semitones) {
                near |= bit;
                equal |= if semitones == 0 { bit } else { 0 };
            } else if is_out_of_reach(semitones)
                && !(is_partial(semitones) && (note.string.is_none() || wanted.string.is_none()))
            {
                beyond |= bit;
            }
            bit <<= 1;
        }
        let (mut same_string, mut other_string, mut mistracked) = (0, 0, 0);
        if let Some(string) = note.string {
            let mut bit = 1_u8;
            for wanted in expected {
                if wanted.string == Some(string) {
                    same_string |= bit;
                    if note.pitch.is_partial_of(wanted.pitch) {
                        mistracked |= bit;
                    }
                } else if wanted.string.is_some() {
                    other_string |= bit;
                }
                bit <<= 1;
            }
        }
        // The same as `is_right` says of one note.
        let right = equal
            & match note.onset {
                Onset::Struck | Onset::Corrected => u8::MAX,
                Onset::Trailing | Onset::Crosstalk => !other_string,
                Onset::Bent => slurred,
                Onset::Again => 0,
            };
        let (struck, bent) = if note.is_struck() { (u8::MAX, 0) } else { (0, right) };
        let (any, trailing) = if note.is_nothing_elsewhere() { (0, u8::MAX) } else { (u8::MAX, 0) };
        let ways = [
            right & struck & !other_string,
            mistracked & struck,
            right & struck & other_string,
            bent,
            same_string,
            near & any,
            any & !beyond,
            trailing,
        ];
        Self { ways, other_string }
    }

    #[inline(always)]
    fn as_a(&self, way: MatchKind) -> u8 {
        self.ways.get(way as usize).copied().unwrap_or(0)
    }

    /// Notes that it can be without being wrong.
    #[inline(always)]
    fn likely(&self) -> u8 {
        let [in_place, mistaken, elsewhere, bent, ..] = self.ways;
        in_place | mistaken | elsewhere | bent
    }
}

/// Which of an event's notes each of the last played notes could be, as bits: each pair of notes
/// is compared once, and what is asked of sets of notes is one operation then.
///
/// Played notes are counted back from the latest, in lists and in bits.
pub(super) struct MatchBits {
    notes: [Seen; MOST],
    /// All notes of the event, and those that are slurred.
    all: u8,
    slurred: u8,
    /// The ways that there can be.
    ways: u8,
    /// Nobody's notes unless the event accounts for them.
    noise: u16,
    /// Notes of a trill that is going on explain themselves; they stand in no other's place.
    trilled: u16,
}

impl MatchBits {
    /// Looks at the last `most` of `played`.
    pub(super) fn at(
        events: &Events,
        reached: usize,
        expected: &[ExpectedNote],
        played: &[PlayedNote],
        most: usize,
    ) -> Self {
        let (mut slurred, mut all) = (0_u8, 0_u8);
        for wanted in expected {
            all = (all << 1) | 1;
            // From the top, so that the first note's bit comes out lowest.
            slurred = (slurred >> 1) | if wanted.attack == Attack::Slurred { 0x80 } else { 0 };
        }
        let slurred = slurred >> all.leading_zeros();
        let mut notes = [Seen::default(); MOST];
        let (mut noise, mut trilled) = (0, 0);
        let mut ways =
            MatchKind::InPlace.bit() | MatchKind::WrongNear.bit() | MatchKind::WrongFar.bit();
        let has_trills = events.has_trills();
        let mut bit = 1;
        for (note, seen) in played.iter().rev().take(most).zip(&mut notes) {
            *seen = Seen::of(note, expected, slurred);
            if note.string.is_some() {
                ways |= MatchKind::Mistaken.bit()
                    | MatchKind::Elsewhere.bit()
                    | MatchKind::WrongOnItsString.bit();
            }
            if note.onset != Onset::Struck {
                noise |= if note.is_noise() { bit } else { 0 };
                ways |= MatchKind::Bent.bit() | MatchKind::WrongTrailing.bit();
            }
            if has_trills && events.trill(note, reached).is_some() {
                trilled |= bit;
            }
            bit <<= 1;
        }
        Self { notes, all, slurred, ways, noise, trilled }
    }

    /// A cost below which [`MatchBits::cost`] will not be for the last `notes` played: as if notes
    /// with a choice were never in each other's way.
    pub(super) fn at_least(&self, costs: &Costs, notes: usize) -> u16 {
        let (mut places, mut owners) = (0_u8, 0);
        let (mut own_places, mut own_owners) = (0_u8, 0);
        for seen in self.notes.iter().take(notes) {
            let likely = seen.likely();
            let own = likely & !seen.other_string;
            places |= likely;
            owners += u32::from(likely != 0);
            own_places |= own;
            own_owners += u32::from(own != 0);
        }
        let likely = places.count_ones().min(owners);
        let on_its_string = own_places.count_ones().min(own_owners);
        // These may cost next to nothing when they are left over.
        let light = (self.noise | self.trilled) & first(notes);
        let others = (notes as u32).saturating_sub(likely + light.count_ones());
        uneven(costs, self.all.count_ones() - likely, others)
            + costs.other_string * likely.saturating_sub(on_its_string) as u16
    }

    /// What it costs to explain the last `notes` by the event; `None` if nothing is matched.
    pub(super) fn cost(&self, costs: &Costs, notes: usize) -> Option<u16> {
        let (cost, taken) = self.assign(costs, notes, &mut |_, _| ());
        (taken != 0).then_some(cost)
    }

    /// Explains the last `notes` by the event: the cost, and the notes of the event that are
    /// matched, as bits. Says which note, counted back, is which of the event's.
    // Not generic and not inlined: so it is there once.
    #[inline(never)]
    fn assign(&self, costs: &Costs, notes: usize, pair: &mut dyn FnMut(usize, u8)) -> (u16, u8) {
        let (mut open, mut taken) = (first(notes), 0_u8);
        let mut cost = 0_u16;
        for way in MatchKind::ALL {
            if self.ways & way.bit() == 0 {
                continue;
            }
            if open == 0 || taken == self.all {
                break;
            }
            let may = match way {
                MatchKind::Elsewhere => !self.trilled,
                _ if way.is_wrong() => !(self.trilled | self.noise),
                _ => u16::MAX,
            };
            // A slurred note may be left for a bend, which can be no other.
            let last_resort = if way.is_wrong() { 0 } else { self.slurred };
            let price = way.price(costs);
            for group in [!self.noise, self.noise] {
                let choosing = open & may & group;
                if choosing == 0 {
                    continue;
                }
                // The oldest chooses first.
                let mut note = 1_u16 << notes;
                for (back, seen) in self.notes.iter().enumerate().take(notes).rev() {
                    note >>= 1;
                    if choosing & note == 0 {
                        continue;
                    }
                    let place = lowest(seen.as_a(way) & self.all & !taken, last_resort);
                    if place == 0 {
                        continue;
                    }
                    open &= !note;
                    taken |= place;
                    cost += price;
                    if way == MatchKind::Bent && seen.other_string & place != 0 {
                        cost += costs.other_string;
                    }
                    pair(back, place.trailing_zeros() as u8);
                }
            }
        }
        let left_out = (self.all & !taken).count_ones() as u16;
        let trilled = (open & self.trilled).count_ones() as u16;
        let noise = (open & self.noise & !self.trilled).count_ones() as u16;
        let extra = (open & !self.noise & !self.trilled).count_ones() as u16;
        cost += costs.missing * left_out
            + costs.trilled * trilled
            + costs.not_struck * noise
            + costs.extra * extra;
        (cost, taken)
    }
}

/// A cost below which it is not where so many notes of the event have none that is likely, and so many played ones
/// are likely for none.
pub(super) fn uneven(costs: &Costs, left_out: u32, left_over: u32) -> u16 {
    let wrong = left_over.min(left_out);
    costs.wrong_same_string * wrong as u16
        + costs.missing * (left_out - wrong) as u16
        + costs.extra * (left_over - wrong) as u16
}

/// The bits of the first so many.
#[inline(always)]
const fn first(notes: usize) -> u16 {
    (1 << notes) - 1
}

/// The first of some notes, as its bit: of those that are not slurred, if there are any.
#[inline(always)]
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
        && note.pitch.is_partial_of(wanted.pitch)
}

/// Whether a note was played on the string it is wanted on; `None` where one is unknown.
pub(super) fn same_string(wanted: &ExpectedNote, note: &PlayedNote) -> Option<bool> {
    Some(wanted.string? == note.string?)
}
