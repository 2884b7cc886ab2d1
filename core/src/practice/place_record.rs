//! How often each event of a piece failed, and which of them fails clearly more often than the rest.
//!
//! *Formula.* For an event that failed in k of n attempts, the weight of evidence that it is a hard place,
//! which fails in two attempts of three, against its being like the others, which fail at the rate q that
//! they show:
//!
//! ```text
//! k · log(⅔ / q) + (n − k) · log(⅓ / (1 − q)) − log(events)
//! ```
//!
//! The last term is because it might have been any of them (after Good 1950, from memory, and the union
//! bound). It is asked after each attempt, so the threshold was set by simulation, for at most 20 attempts
//! at 8 to 24 events: see `docs/practice.md` for what it finds and how often it is wrong.

use super::event_results::EventResults;
use super::piece::Piece;
use crate::align::log2;
use crate::limits::EXPECTED_NOTES;

/// So often an event has failed at least before it is called a hard place. Our default.
const FEWEST_FAILURES: u8 = 3;

/// So often a hard place fails, in ten thousandths. Our default.
const HARD: u32 = 6_667;

/// What the other events are taken to fail at least and at most, in ten thousandths. Our defaults.
const OTHERS: (u32, u32) = (300, 6_000);

/// One decibel as 256 · log2 has it, times ten: 256 / 3.0103 · 10.
const DECIBEL_TENTHS: i32 = 850;

/// What the evidence has to weigh, in tenths of a decibel: 4 dB where the others fail in one of twenty at
/// most; two more for each per cent beyond, up to 12; and a half for each attempt after the sixth. Our
/// defaults, by simulation.
const ENOUGH_TENTHS: i32 = 40;
const FEW: u32 = 500;
const MOST_BEYOND_TENTHS: i32 = 120;
const PER_ATTEMPT_TENTHS: i32 = 5;
const FIRST_ATTEMPTS: i32 = 6;

/// After so many attempts at an event older ones count half.
const MOST_TRIES: u8 = 15;

/// An event that fails clearly more often than the others of its piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct HardPlace {
    /// The event, counted from 0.
    pub(super) event: u8,
    /// In so many attempts it failed,
    pub(super) failed: u8,
    /// of so many in which it was reached.
    pub(super) tries: u8,
    /// How many events there are.
    pub(super) events: u8,
}

/// How often an event was reached and how often it failed, four bits each: a pedal keeps 256 of them.
#[derive(Clone, Copy, Debug, Default)]
struct Tally(u8);

impl Tally {
    const fn tries(self) -> u8 {
        self.0 >> 4
    }

    const fn failed(self) -> u8 {
        self.0 & 0x0f
    }

    fn take(&mut self, failed: bool) {
        let (mut tries, mut failures) = (self.tries(), self.failed());
        if tries >= MOST_TRIES {
            (tries, failures) = (tries / 2, failures / 2);
        }
        *self = Self::of(tries + 1, failures + u8::from(failed));
    }

    const fn take_back(&mut self, failed: bool) {
        let failures = self.failed().saturating_sub(failed as u8);
        *self = Self::of(self.tries().saturating_sub(1), failures);
    }

    const fn of(tries: u8, failed: u8) -> Self {
        Self(tries << 4 | failed)
    }
}

/// The record of one piece: of the one that is practised. All zero bytes while it is empty.
#[derive(Clone, Debug)]
pub(super) struct PlaceRecord {
    piece: Piece,
    /// 0 while it is empty.
    events: u8,
    tallies: [Tally; EXPECTED_NOTES],
}

impl PlaceRecord {
    pub(super) const fn new() -> Self {
        Self { piece: Piece::Chunk(0), events: 0, tallies: [Tally(0); EXPECTED_NOTES] }
    }

    /// Forgets everything. In place.
    pub(super) fn clear(&mut self) {
        self.events = 0;
        self.tallies.fill(Tally::default());
    }

    /// The events of a piece, once it has been played.
    pub(super) fn events_of(&self, piece: Piece) -> Option<u8> {
        (self.piece == piece && self.events > 0).then_some(self.events)
    }

    /// Takes an attempt at a piece. Another piece, or the same with other events, begins anew.
    pub(super) fn take(&mut self, piece: Piece, results: &EventResults) {
        if results.events() == 0 {
            return;
        }
        if (self.piece, self.events) != (piece, results.events()) {
            self.clear();
            (self.piece, self.events) = (piece, results.events());
        }
        for (event, tally) in (0..=u8::MAX).zip(&mut self.tallies) {
            if results.has_reached(event) {
                tally.take(results.has_failed(event));
            }
        }
    }

    /// The last attempt is as if it had not been played, but for what it made older ones count.
    pub(super) fn take_back(&mut self, results: &EventResults) {
        for (event, tally) in (0..=u8::MAX).zip(&mut self.tallies) {
            if results.has_reached(event) {
                tally.take_back(results.has_failed(event));
            }
        }
    }

    /// The event that fails clearly more often than the others, if there is one: of those that failed in
    /// the last attempt.
    pub(super) fn hardest(&self, last: &EventResults) -> Option<HardPlace> {
        let all = self.tallies.get(..self.events.into())?;
        let sum = |of: fn(Tally) -> u8| all.iter().map(|tally| u32::from(of(*tally))).sum::<u32>();
        let (tries, failed) = (sum(Tally::tries), sum(Tally::failed));
        (0..self.events)
            .zip(all)
            .filter(|(event, tally)| last.has_failed(*event) && tally.failed() >= FEWEST_FAILURES)
            .map(|(event, tally)| (event, tally, self.beyond(*tally, tries, failed)))
            .filter(|(.., beyond)| *beyond >= 0)
            .max_by_key(|(event, _, beyond)| (*beyond, core::cmp::Reverse(*event)))
            .map(|(event, tally, _)| HardPlace {
                event,
                failed: tally.failed(),
                tries: tally.tries(),
                events: self.events,
            })
    }

    /// How much more than enough speaks for its being a hard place, in 256ths of a bit. `tries` and
    /// `failed` are of all events.
    fn beyond(&self, tally: Tally, tries: u32, failed: u32) -> i32 {
        let (own_tries, own_failed) = (i32::from(tally.tries()), i32::from(tally.failed()));
        let others_failed = failed.saturating_sub(tally.failed().into());
        let others_tries = tries.saturating_sub(tally.tries().into());
        // Half a failure in one more attempt, so that few attempts do not make it certain.
        let rate = (2 * others_failed + 1) * 5_000 / (others_tries + 1);
        let rate = rate.clamp(OTHERS.0, OTHERS.1);
        let fails = log2(HARD) - log2(rate);
        let holds = log2(10_000 - HARD) - log2(10_000 - rate);
        let weight = own_failed * fails + (own_tries - own_failed) * holds;
        let beyond_few = (rate.saturating_sub(FEW) / 5) as i32;
        let later = (own_tries - FIRST_ATTEMPTS).max(0);
        let enough =
            ENOUGH_TENTHS + beyond_few.min(MOST_BEYOND_TENTHS) + PER_ATTEMPT_TENTHS * later;
        weight - log2(self.events.into()) - enough * DECIBEL_TENTHS / 100
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    /// Pseudo-random numbers (splitmix64).
    struct Chance(u64);

    impl Chance {
        fn below(&mut self, limit: u32) -> u32 {
            self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mixed = (self.0 ^ self.0 >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            let mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((((mixed ^ mixed >> 31) >> 32) * u64::from(limit)) >> 32) as u32
        }
    }

    const PIECE: Piece = Piece::Chunk(0);

    /// Attempts at so many events: for each the events that failed.
    fn record(events: u8, attempts: &[&[u8]]) -> (PlaceRecord, EventResults) {
        let mut record = PlaceRecord::new();
        let mut last = EventResults::NONE;
        for failed in attempts {
            last = EventResults::clean(events);
            failed.iter().for_each(|event| last.fail(*event));
            record.take(PIECE, &last);
        }
        (record, last)
    }

    fn hardest(events: u8, attempts: &[&[u8]]) -> Option<(u8, u8, u8)> {
        let (record, last) = record(events, attempts);
        record.hardest(&last).map(|hard| (hard.event, hard.failed, hard.tries))
    }

    #[test]
    fn what_fails_in_three_of_four_where_nothing_else_does_is_hard() {
        assert_eq!(hardest(16, &[&[5], &[5], &[]]), None, "it did not fail just now");
        assert_eq!(hardest(16, &[&[5], &[5]]), None, "twice is not enough");
        assert_eq!(hardest(16, &[&[5], &[], &[5], &[5]]), Some((5, 3, 4)));
        assert_eq!(hardest(16, &[&[5], &[5], &[5, 9]]), Some((5, 3, 3)));
    }

    #[test]
    fn where_all_fails_nothing_is_harder() {
        let all: &[u8] = &[0, 1, 2, 3, 4, 5, 6, 7];
        assert_eq!(hardest(8, &[all, all, all, all]), None);
        assert_eq!(hardest(8, &[&[0, 2, 4, 6], &[1, 2, 3], &[0, 2, 5], &[2, 7, 6]]), None);
    }

    #[test]
    fn another_piece_begins_anew_and_taken_back_is_not_there() {
        let (mut record, last) = record(16, &[&[5], &[5], &[5]]);
        record.take_back(&last);
        assert_eq!(record.hardest(&last), None);
        record.take(PIECE, &last);
        assert!(record.hardest(&last).is_some());
        record.take(Piece::Chunk(1), &last);
        assert_eq!(record.hardest(&last), None);
    }

    #[test]
    fn stops_count_and_what_was_not_reached_does_not() {
        let mut record = PlaceRecord::new();
        let stopped = EventResults::stopped(16, 6);
        (0..3).for_each(|_| record.take(PIECE, &stopped));
        let hard = record.hardest(&stopped).unwrap();
        assert_eq!((hard.event, hard.failed, hard.tries, hard.events), (6, 3, 3, 16));
        assert_eq!(record.tallies[7].tries(), 0);
    }

    #[test]
    fn old_attempts_count_half() {
        let (mut record, _) = record(4, &[&[1_u8] as &[u8]; 15]);
        assert_eq!((record.tallies[1].tries(), record.tallies[1].failed()), (15, 15));
        record.take(PIECE, &EventResults::clean(4));
        assert_eq!((record.tallies[1].tries(), record.tallies[1].failed()), (8, 7));
    }

    /// One of `events` fails with `hard` in a thousand, the others with `rate`: after how many attempts
    /// of 20 a place is named, and whether it is that one or beside it.
    fn named(events: u8, rate: u32, hard: Option<u32>, seed: u64) -> Option<(u8, bool)> {
        let mut chance = Chance(seed);
        let at = chance.below(events.into()) as u8;
        let mut record = PlaceRecord::new();
        for attempt in 1..=20 {
            let mut results = EventResults::clean(events);
            for event in 0..events {
                let rate = if event == at { hard.unwrap_or(rate) } else { rate };
                if chance.below(1_000) < rate {
                    results.fail(event);
                }
            }
            record.take(PIECE, &results);
            if let Some(found) = record.hardest(&results) {
                return Some((attempt, found.event.abs_diff(at) <= 1));
            }
        }
        None
    }

    /// The best that any rule could do here: three failures among the first six attempts come in 89.98 %
    /// of sittings (binomial), and a rule that takes fewer for enough is wrong too often.
    #[test]
    fn a_hard_place_is_found_within_six_attempts_and_seldom_where_there_is_none() {
        const PLAYERS: u64 = 1_000;
        let mut all_wrong = 0;
        for events in [8, 16, 24] {
            let found = |within: u8| {
                let named = (0..PLAYERS).filter_map(|seed| named(events, 50, Some(667), seed));
                named.filter(|(after, right)| *after <= within && *right).count()
            };
            assert!(found(6) >= 780, "{events} events: {} of {PLAYERS}", found(6));
            assert!(found(12) >= 960, "{events} events: {} of {PLAYERS}", found(12));
            for rate in [50, 100, 200, 300, 400] {
                let wrong = (0..PLAYERS).filter(|seed| named(events, rate, None, *seed).is_some());
                let wrong = wrong.count();
                all_wrong += wrong;
                assert!(wrong <= 80, "{events} events failing at {rate}: {wrong} of {PLAYERS}");
            }
        }
        assert!(all_wrong <= 15 * 40, "{all_wrong} of {}", 15 * PLAYERS);
    }
}
