//! How late the notes of each string come, learnt while listening.
//!
//! A converter is not late by periods of the pitch alone: one needed 63 to 67 ms on the three upper
//! strings and 122 to 126 ms on the three lower ones (measured with a pitch tracker on rendered
//! strings). What a string is later than the others shows in two places: in chords, whose notes come
//! apart, and in lines that cross strings, whose notes come off the player's own tempo. Hands make
//! each of the two as well. Only what both say alike is taken for the converter's doing:
//!
//! * a thumb that is late in chords is not late in a line by the same time, and a hand that rushes
//!   (or drags) to a low string in a line does not do so inside a chord. Where the two differ by more
//!   than [`AGREE`], nothing is learnt of that string;
//! * low strings come later or as late as high ones, since a converter waits for periods of the tone.
//!   What would make a lower string come earlier is a hand;
//! * no string is later than another by more than [`FURTHEST`]. What is later is a hand, too.
//!
//! From chords alone a number of periods is learnt, from none to two: no hand spreads by the period.
//!
//! Times are in hundredths of a millisecond; later is positive. Each source is a running mean of what
//! attempts said (each by medians, see [`measure::lateness`](crate::measure::lateness)), in which older
//! notes fade: what has been heard counts for [`MOST`] notes at most.

use super::habits::Habits;
use super::lateness::Lateness;
use crate::arithmetic::short_root;
use crate::sort::sort;
use crate::units::GuitarString;

/// Where a lateness was heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Heard {
    /// In single notes.
    Alone,
    /// In chords.
    InChords,
}

/// What an attempt says of each string, string 1 first.
pub(crate) type Strings = [Lateness; STRINGS];

/// How many strings there may be.
pub(crate) const STRINGS: usize = GuitarString::MOST as usize;

/// What has been heard counts for so many notes at most, so that what is newer tells in the end. Our
/// default: some minutes of playing.
const MOST: u16 = 64;

/// So many single notes of a string have to be heard. Our default: the median of eight notes that
/// scatter by 15 ms is known to 7.
const FEWEST_ALONE: u16 = 8;

/// ... and so many in chords, which scatter less. Our default.
const FEWEST_IN_CHORDS: u16 = 6;

/// So many of a string's notes in chords may be a way of the pickup to be late. Our default: of fewer
/// chords each is an accident of its own.
const FEWEST_TO_SUPPOSE: u16 = 3;

/// What the two say of a string is alike up to this difference, in hundredths of a millisecond. Our
/// default: twice what the medians of so few notes leave open, and under a third of what the level
/// `steady` allows a chord.
const AGREE: i32 = 1_200;

/// No string of a converter is later than another by more than this, in hundredths of a millisecond.
/// Our default: the widest step that was measured is 60 ms.
pub(crate) const FURTHEST: i32 = 8_000;

/// How much earlier than a higher string a lower one may seem to come, in hundredths of a millisecond.
/// Our default, as [`AGREE`].
pub(crate) const EARLIER: i32 = AGREE;

/// Periods of the pitch are told from so many pairs of notes on. Our default.
const FEWEST_PAIRS: u16 = 12;

impl Habits {
    /// How late a string's notes come beyond the profile's latency, where that is known: relative to
    /// the middle of all strings that are known.
    pub fn late(&self, string: Option<GuitarString>) -> Option<Lateness> {
        let known = self.string(Some(string?)).late.known;
        (known.notes > 0).then_some(known)
    }

    /// Whether the lateness of a string is known.
    pub fn knows_strings(&self) -> bool {
        strings().any(|string| self.late(Some(string)).is_some())
    }

    /// Periods of the pitch, in per cent, that a note is late beyond the one that is taken off where
    /// nothing is known: from −100 to 100. None where strings are known one by one.
    pub fn periods_beyond(&self) -> i32 {
        let heard = self.periods;
        // Half a period more may be chance.
        let is_plausible = (-150..=150).contains(&heard.by);
        let differs =
            || strings().any(|string| self.late(Some(string)).is_some_and(|one| one.by != 0));
        if heard.notes < FEWEST_PAIRS || !is_plausible || differs() {
            return 0;
        }
        i32::from(heard.by).clamp(-100, 100)
    }

    /// Takes what an attempt says of periods: in per cent beyond one, with its scatter, from so many
    /// pairs of notes.
    pub(crate) fn hear_periods(&mut self, heard: Lateness) {
        self.periods = merged(self.periods, heard, 0);
    }

    /// Takes what an attempt says of strings. What it says is relative to its own strings, so it is
    /// laid on those that are known already; where none of them is, it says nothing.
    pub(crate) fn hear_late(&mut self, source: Heard, heard: &Strings) {
        let mut apart = Few::default();
        let mut is_first = true;
        for (string, one) in strings().zip(heard) {
            let so_far = self.heard(string, source);
            is_first &= so_far.notes == 0;
            if so_far.notes > 0 && one.notes > 0 {
                apart.push(i32::from(one.by) - i32::from(so_far.by));
            }
        }
        let Some(apart) = apart.median().or(is_first.then_some(0)) else { return };
        for (string, one) in strings().zip(heard).filter(|(_, one)| one.notes > 0) {
            let late = merged(self.heard(string, source), *one, apart);
            let kept = &mut self.string_mut(Some(string)).late;
            match source {
                Heard::Alone => kept.alone = late,
                Heard::InChords => kept.in_chords = late,
            }
        }
    }

    /// What is said of a string by one source.
    pub(crate) fn heard(&self, string: GuitarString, source: Heard) -> Lateness {
        let late = &self.string(Some(string)).late;
        match source {
            Heard::Alone => late.alone,
            Heard::InChords => late.in_chords,
        }
    }

    /// Learns what both sources say alike.
    pub(crate) fn settle_late(&mut self) {
        let Some([alone, in_chords]) = self.both() else { return };
        let mut scatters = Few::default();
        for (a, c) in alone.iter().zip(&in_chords).filter(|(a, _)| a.notes > 0) {
            scatters.push(a.scatter.min(c.scatter).into());
        }
        let usual = scatters.median().unwrap_or(0);
        let mut agreed = [Lateness::NONE; STRINGS];
        for ((a, c), into) in alone.iter().zip(&in_chords).zip(&mut agreed) {
            let (one, other) = (i32::from(a.by), i32::from(c.by));
            if a.notes > 0 && (one - other).abs() <= AGREE {
                let [of_one, of_other] = [a, c].map(|heard| i32::from(heard.notes));
                let by = (one * of_one + other * of_other) / (of_one + of_other);
                // A pair of notes scatters by both of them, and the other is a string as usual.
                let both = i32::from(a.scatter.min(c.scatter));
                let own = short_root(2 * (both * both - usual * usual).max(0).unsigned_abs());
                let notes = a.notes.saturating_add(c.notes);
                *into = Lateness { by: by as i16, scatter: own.min(i16::MAX as u32) as u16, notes };
            }
        }
        if is_a_converters(&agreed) {
            leave_what_may_be_chance(&mut agreed);
            self.take_over(&agreed);
        } else {
            agreed = [Lateness::NONE; STRINGS];
        }
        self.forget_what_neither_says(&agreed, [&alone, &in_chords]);
    }

    /// The same habits as if the pickup were late by string as chords say, in this attempt
    /// (`heard`) and before. `None` where that cannot be: strings that a converter is not late in
    /// this way, or that single notes speak against; or where it is known already.
    pub(crate) fn suppose(&self, heard: &Strings) -> Option<Self> {
        let mut supposed = *heard;
        // What has been heard before counts as well, laid on this attempt's.
        let mut apart = Few::default();
        for (string, one) in strings().zip(heard) {
            let before = self.heard(string, Heard::InChords);
            if one.notes > 0 && before.notes >= FEWEST_IN_CHORDS {
                apart.push(i32::from(one.by) - i32::from(before.by));
            }
        }
        let apart = apart.median().unwrap_or(0);
        let mut against = [[Lateness::NONE; STRINGS]; 2];
        let [chords, alone] = &mut against;
        for (index, string) in strings().enumerate() {
            let Some(one) = supposed.get_mut(index).filter(|one| one.notes > 0) else { continue };
            let late = self.string(Some(string)).late;
            if late.in_chords.notes >= FEWEST_IN_CHORDS {
                *one =
                    Lateness { by: held(i32::from(late.in_chords.by) + apart), ..late.in_chords };
            }
            if late.known.notes > 0 || one.notes < FEWEST_TO_SUPPOSE {
                return None;
            }
            if late.alone.notes >= FEWEST_ALONE
                && let (Some(c), Some(a)) = (chords.get_mut(index), alone.get_mut(index))
            {
                (*c, *a) = (*one, late.alone);
            }
        }
        centre(&mut supposed);
        against.iter_mut().for_each(centre);
        let [chords, alone] = &against;
        let mut both = chords.iter().zip(alone);
        let spoken_against = both.any(|(c, a)| (i32::from(c.by) - i32::from(a.by)).abs() > AGREE);
        if spoken_against || !is_a_converters(&supposed) {
            return None;
        }
        let mut habits = *self;
        for (string, one) in strings().zip(supposed) {
            habits.string_mut(Some(string)).late.known = one;
        }
        Some(habits)
    }

    /// What both sources say of the strings that both know well, each relative to the middle of
    /// these; `None` for fewer than two.
    fn both(&self) -> Option<[Strings; 2]> {
        let mut both = [[Lateness::NONE; STRINGS]; 2];
        let [alone, in_chords] = &mut both;
        for ((string, a), c) in strings().zip(alone.iter_mut()).zip(in_chords.iter_mut()) {
            let late = self.string(Some(string)).late;
            if late.alone.notes >= FEWEST_ALONE && late.in_chords.notes >= FEWEST_IN_CHORDS {
                (*a, *c) = (late.alone, late.in_chords);
            }
        }
        let known = alone.iter().filter(|one| one.notes > 0).count();
        both.iter_mut().for_each(centre);
        (known >= 2).then_some(both)
    }

    /// Puts in force what was agreed on, laid on what is in force already.
    fn take_over(&mut self, agreed: &Strings) {
        let mut apart = Few::default();
        for (string, one) in strings().zip(agreed).filter(|(_, one)| one.notes > 0) {
            if let Some(known) = self.late(Some(string)) {
                apart.push(i32::from(known.by) - i32::from(one.by));
            }
        }
        let apart = apart.median().unwrap_or(0);
        for (string, one) in strings().zip(agreed).filter(|(_, one)| one.notes > 0) {
            self.string_mut(Some(string)).late.known =
                Lateness { by: held(i32::from(one.by) + apart), ..*one };
        }
        let mut known = self.known();
        centre(&mut known);
        for (string, one) in strings().zip(known) {
            self.string_mut(Some(string)).late.known = one;
        }
    }

    /// Forgets what is in force of a string of which both sources have enough to say, and something
    /// else each. What one of them says still may be the converter, and the other the hand.
    fn forget_what_neither_says(&mut self, agreed: &Strings, sources: [&Strings; 2]) {
        let known = self.known();
        let says = |source: &Strings, index: usize| {
            let mut apart = Few::default();
            let both = source.iter().zip(&known).filter(|(a, b)| a.notes > 0 && b.notes > 0);
            both.for_each(|(a, b)| apart.push(i32::from(a.by) - i32::from(b.by)));
            let apart = apart.median().unwrap_or(0);
            let pair = source.get(index).zip(known.get(index));
            pair.is_some_and(|(a, b)| (i32::from(a.by) - i32::from(b.by) - apart).abs() <= AGREE)
        };
        for (index, string) in strings().enumerate() {
            let [is_agreed, is_heard] =
                [agreed, sources[0]].map(|all| all.get(index).is_some_and(|one| one.notes > 0));
            if is_heard && !is_agreed && !sources.iter().any(|source| says(source, index)) {
                self.string_mut(Some(string)).late.known = Lateness::NONE;
            }
        }
    }

    fn known(&self) -> Strings {
        let mut known = [Lateness::NONE; STRINGS];
        for (string, one) in strings().zip(&mut known) {
            *one = self.string(Some(string)).late.known;
        }
        known
    }
}

/// All strings, string 1 first.
pub(crate) fn strings() -> impl Iterator<Item = GuitarString> {
    (1..=GuitarString::MOST).filter_map(GuitarString::new)
}

/// Whether a converter may be late in this way: low strings no earlier than high ones, and none too
/// far from another. Where fewer than two strings are known, nothing is.
pub(crate) fn is_a_converters(late: &Strings) -> bool {
    let known = || late.iter().filter(|one| one.notes > 0).map(|one| i32::from(one.by));
    let mut latest = i32::MIN;
    let falls = known().any(|by| {
        let lower = by < latest.saturating_sub(EARLIER);
        latest = latest.max(by);
        lower
    });
    let ends = known().max().zip(known().min());
    !falls && known().count() >= 2 && ends.is_some_and(|(most, least)| most - least <= FURTHEST)
}

/// Strings that differ by no more than the two sources may are not told apart: what is taken off would
/// follow the hand by some milliseconds else.
fn leave_what_may_be_chance(late: &mut Strings) {
    let known = || late.iter().filter(|one| one.notes > 0).map(|one| i32::from(one.by));
    let ends = known().max().zip(known().min());
    if ends.is_some_and(|(most, least)| most - least <= AGREE) {
        late.iter_mut().for_each(|one| one.by = 0);
    }
}

/// Relative to the middle of those that are known.
fn centre(late: &mut Strings) {
    let mut all = Few::default();
    late.iter().filter(|one| one.notes > 0).for_each(|one| all.push(one.by.into()));
    let middle = all.median().unwrap_or(0);
    for one in late.iter_mut().filter(|one| one.notes > 0) {
        one.by = held(i32::from(one.by) - middle);
    }
}

/// What was known and what is heard, together; `apart` is taken off what is heard.
fn merged(known: Lateness, heard: Lateness, apart: i32) -> Lateness {
    let [before, now] = [known.notes.min(MOST), heard.notes.min(MOST)].map(i32::from);
    let all = (before + now).max(1);
    let mean = |a: i32, b: i32| (a * before + b * now) / all;
    Lateness {
        by: held(mean(known.by.into(), i32::from(heard.by) - apart)),
        scatter: mean(known.scatter.into(), heard.scatter.into()).max(0) as u16,
        notes: (before + now).min(MOST.into()) as u16,
    }
}

fn held(hundredths: i32) -> i16 {
    hundredths.clamp(-i32::from(i16::MAX), i16::MAX.into()) as i16
}

/// A number a string, at most.
#[derive(Default)]
struct Few {
    values: [i32; STRINGS],
    count: usize,
}

impl Few {
    fn push(&mut self, value: i32) {
        if let Some(place) = self.values.get_mut(self.count) {
            *place = value;
            self.count += 1;
        }
    }

    /// The middle; of an even number the mean of the middle two.
    fn median(&mut self) -> Option<i32> {
        let values = self.values.get_mut(..self.count)?;
        sort(values);
        let upper = *values.get(values.len() / 2)?;
        let lower = *values.get(values.len().div_ceil(2).checked_sub(1)?)?;
        Some((lower + upper) / 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(late: [i16; 6], notes: u16) -> Strings {
        let mut strings = [Lateness::NONE; STRINGS];
        for (string, by) in strings.iter_mut().zip(late) {
            *string = Lateness { by, scatter: 600, notes };
        }
        strings
    }

    fn taught(alone: [i16; 6], in_chords: [i16; 6]) -> Habits {
        let mut habits = Habits::NONE;
        for _ in 0..4 {
            habits.hear_late(Heard::Alone, &all(alone, 8));
            habits.hear_late(Heard::InChords, &all(in_chords, 8));
            habits.settle_late();
        }
        habits
    }

    fn known(habits: &Habits) -> [Option<i16>; 6] {
        core::array::from_fn(|index| {
            habits.late(GuitarString::new(index as u8 + 1)).map(|late| late.by)
        })
    }

    const STEP: [i16; 6] = [-3_000, -3_000, -3_000, 3_000, 3_000, 3_000];

    #[test]
    fn what_lines_and_chords_say_alike_is_learnt() {
        assert_eq!(known(&taught(STEP, STEP)), STEP.map(Some));
        // Relative to what they have in common.
        assert_eq!(known(&taught(STEP.map(|by| by + 900), STEP)), STEP.map(Some));
    }

    #[test]
    fn what_only_one_of_them_says_is_a_hand() {
        let thumb = [0, 0, 0, 0, 0, 5_000];
        for (alone, in_chords) in [(thumb, [0; 6]), ([0; 6], thumb)] {
            let habits = taught(alone, in_chords);
            assert_eq!(known(&habits)[5], None);
            assert_eq!(known(&habits)[0], Some(0));
        }
        // Nor what is heard in chords alone.
        let mut habits = Habits::NONE;
        habits.hear_late(Heard::InChords, &all(STEP, 60));
        habits.settle_late();
        assert!(!habits.knows_strings());
    }

    #[test]
    fn what_no_converter_does_is_a_hand() {
        let rushed = [0, 0, 0, 0, 0, -4_000];
        assert!(!taught(rushed, rushed).knows_strings(), "low strings do not come earlier");
        let dragged = [0, 0, 0, 0, 0, 10_000];
        assert!(!taught(dragged, dragged).knows_strings(), "none is so much later");
    }

    #[test]
    fn parts_of_the_strings_are_laid_on_each_other() {
        let mut habits = Habits::NONE;
        let mut heard = [Lateness::NONE; STRINGS];
        let one = |by| Lateness { by, scatter: 600, notes: 10 };
        (heard[0], heard[3]) = (one(-3_000), one(3_000));
        habits.hear_late(Heard::Alone, &heard);
        // The same step, seen from the lower string, and the next one.
        let mut heard = [Lateness::NONE; STRINGS];
        (heard[3], heard[4]) = (one(0), one(200));
        habits.hear_late(Heard::Alone, &heard);
        let by = |string| habits.heard(GuitarString::new(string).unwrap(), Heard::Alone).by;
        assert_eq!([by(1), by(4), by(5)], [-3_000, 3_000, 3_200]);
        // Nothing in common: where to lay it is not known.
        let mut heard = [Lateness::NONE; STRINGS];
        (heard[1], heard[2]) = (one(0), one(0));
        habits.hear_late(Heard::Alone, &heard);
        assert_eq!(habits.heard(GuitarString::new(2).unwrap(), Heard::Alone), Lateness::NONE);
    }

    #[test]
    fn old_evidence_fades() {
        let mut habits = taught(STEP, STEP);
        for _ in 0..60 {
            habits.hear_late(Heard::Alone, &all([0; 6], 8));
            habits.hear_late(Heard::InChords, &all([0; 6], 8));
            habits.settle_late();
        }
        assert!(known(&habits).iter().all(|by| by.is_some_and(|by| by.abs() < 100)));
    }

    #[test]
    fn what_a_profile_tells_outlives_a_hand() {
        let mut habits = Habits::NONE;
        for (string, by) in strings().zip(STEP) {
            habits.string_mut(Some(string)).late.known = Lateness { by, scatter: 0, notes: 20 };
        }
        // The thumb is late in chords; lines say what the profile says.
        let mut thumb = STEP;
        thumb[5] += 5_000;
        for _ in 0..6 {
            habits.hear_late(Heard::Alone, &all(STEP, 8));
            habits.hear_late(Heard::InChords, &all(thumb, 8));
            habits.settle_late();
        }
        assert_eq!(known(&habits), STEP.map(Some));
    }

    #[test]
    fn periods_are_learnt_from_none_to_two() {
        let learnt = |by: i16, notes| {
            let mut habits = Habits::NONE;
            habits.hear_periods(Lateness { by, scatter: 50, notes });
            habits.periods_beyond()
        };
        assert_eq!(learnt(80, 30), 80);
        assert_eq!(learnt(80, 3), 0, "too few");
        assert_eq!(learnt(120, 30), 100, "two periods at most");
        assert_eq!(learnt(600, 30), 0, "nothing that periods explain");
    }
}
