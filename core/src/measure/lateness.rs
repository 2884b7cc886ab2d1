//! How much later the notes of one string come than those of another, in one attempt: by single
//! notes against the player's own tempo, and by the notes of chords against each other.
//!
//! * *Alone*: of two single notes no more than three events and two quarter notes apart, on
//!   different strings, the time between them less what is written between them at the player's
//!   own pace.
//! * *In chords*: of two notes of a chord, the time between them. Chords that are rolled or swept, and
//!   the landing, say nothing, since hands spread them.
//!
//! Both without what notes [usually](Material::usually_late) come late. For each pair of strings the
//! median of its pairs of notes is taken, and strings are placed so that these medians are met best
//! (least squares, each weighed by its pairs). The scatter of a string is the robust deviation of its
//! pairs from that, over √2. Unit: microseconds, later is positive; relative to the strings' own
//! middle. A string without a pair has no notes. The pace is the median slope between events half
//! an attempt apart.
//!
//! * *Periods*: of two notes of a chord whose periods differ by 3 ms or more, the time between them
//!   over that difference, in per cent: the median.
//!
//! Lags, 3 ms and the two quarter notes are our defaults.

use super::order::{Order, order};
use super::statistics::{median, robust_deviation};
use super::togetherness::is_swept;
use super::{Material, NoteSet};
use crate::limits::EXPECTED_NOTES;
use crate::pickup::late::{Heard, STRINGS, Strings};
use crate::pickup::{Habits, Latency, Lateness};
use crate::study::Marks;
use crate::units::{Offset, Ticks, lasting};
use heapless::Vec;

/// So many events after a single note others are compared with it.
const LAG: u16 = 3;

/// ... and so far apart in the music.
const NEAR: Ticks = Ticks::new(2 * Ticks::PER_QUARTER);

/// What is further off than this, in microseconds, was a pause or another attempt. Our default.
const PAUSE: i32 = 200_000;

/// Periods that differ by less than this, in microseconds, say nothing about periods.
const APART: i32 = 3_000;

/// A note that was played right, on a string that is known.
#[derive(Clone, Copy)]
struct One {
    string: u8,
    event: u16,
    alone: bool,
    written: Ticks,
    /// Without what notes usually come late.
    at: i32,
    period: i32,
}

type Notes = Vec<One, EXPECTED_NOTES>;

/// What two strings say of each other.
#[derive(Clone, Copy, Default)]
struct Pair {
    apart: i32,
    weight: i32,
}

/// Times between notes of two strings, or what is left of them.
type Times = Vec<i32, EXPECTED_NOTES>;

/// Has `habits` learn from an attempt how late strings come.
#[inline(never)]
pub(crate) fn learn(material: Material<'_>, habits: &mut Habits) {
    let mut notes = Notes::new();
    collect(material, &order(material), &mut notes);
    let pace = pace(&notes, &[0; STRINGS]);
    let in_chords = strings(&notes, Heard::InChords, pace);
    habits.hear_late(Heard::InChords, &in_chords);
    if material.pickup.latency == Latency::NONE {
        habits.hear_periods(periods(&notes));
    }
    habits.hear_late(Heard::Alone, &alone(&notes, pace));
    habits.settle_late();
}

/// What the chords of one attempt say of strings.
#[inline(never)]
pub(crate) fn of_chords(material: Material<'_>) -> Strings {
    let mut notes = Notes::new();
    collect(material, &order(material), &mut notes);
    strings(&notes, Heard::InChords, None)
}

/// What single notes say: a pace, the strings, and both once more.
fn alone(notes: &Notes, first_pace: Option<u32>) -> Strings {
    let first = strings(notes, Heard::Alone, first_pace);
    let late: [i32; STRINGS] = first.map(|one| one.offset().as_micros());
    strings(notes, Heard::Alone, pace(notes, &late))
}

#[inline(never)]
fn collect(material: Material<'_>, order: &Order, notes: &mut Notes) {
    let one_period = Latency { base: Offset::ZERO, periods_percent: 100 };
    for (event, range) in material.events().enumerate() {
        let Some(wanted) = material.chunk.notes().get(range.clone()) else { continue };
        let is_spread = |marks: Marks| marks.has(Marks::ROLLED) || marks.has(Marks::LANDING);
        if wanted.iter().any(|note| is_spread(note.marks) || note.trill.is_some())
            || is_swept(material, &range)
        {
            continue;
        }
        let alone = range.len() == 1;
        for (index, wanted) in range.zip(wanted) {
            let Some(note) = material.right(index).filter(|_| !order.involved.has(index)) else {
                continue;
            };
            let Some(string) = note.string.or(wanted.string) else { continue };
            let usual = material.usually_late(note.pitch).as_micros();
            // There is room: it is an expected note.
            let _ = notes.push(One {
                string: string.number() - 1,
                event: event as u16,
                alone,
                written: wanted.onset,
                at: note.at.as_micros().saturating_sub(usual),
                period: one_period.of(note.pitch).as_micros(),
            });
        }
    }
}

/// The median slope between notes half an attempt apart, in microseconds a quarter, with what strings
/// are late taken off.
#[inline(never)]
fn pace(notes: &Notes, late: &[i32; STRINGS]) -> Option<u32> {
    let at =
        |one: &One| one.at.saturating_sub(late.get(usize::from(one.string)).copied().unwrap_or(0));
    let later = notes.iter().skip(notes.len().div_ceil(2));
    let mut paces: Times = notes
        .iter()
        .zip(later)
        .filter(|(a, b)| b.written > a.written)
        .map(|(a, b)| {
            let took = i64::from(at(b).saturating_sub(at(a)).max(0));
            let written = i64::from(b.written.since(a.written).get());
            (took * i64::from(Ticks::PER_QUARTER) / written).min(i64::from(i32::MAX)) as i32
        })
        .collect();
    median(&mut paces).filter(|&pace| pace > 0).map(i32::unsigned_abs)
}

/// Takes the pairs of notes on different strings that say something, the first in the attempt before the
/// second, with the time between them that is not in the music; of those whose strings are `of` interest.
// What rules out most is asked first: the smallest processors take long for a time at a pace. Not inlined and not
// generic: it is asked for in three places.
#[inline(never)]
fn each_pair(
    notes: &Notes,
    source: Heard,
    pace: Option<u32>,
    of: &dyn Fn(u8, u8) -> bool,
    take: &mut dyn FnMut(&One, &One, i32),
) {
    let in_chords = source == Heard::InChords;
    let reach = if in_chords { 0 } else { LAG };
    for (index, a) in notes.iter().enumerate() {
        if a.alone == in_chords {
            continue;
        }
        for b in notes.iter().skip(index + 1) {
            if b.event > a.event + reach {
                break;
            }
            if b.alone == in_chords || a.string == b.string || !of(a.string, b.string) {
                continue;
            }
            let length = b.written.since(a.written);
            let written = match pace {
                _ if in_chords => 0,
                Some(pace) if length <= NEAR => lasting(length, pace),
                _ => continue,
            };
            let apart = b.at.saturating_sub(a.at).saturating_sub(written);
            if apart.saturating_abs() <= PAUSE {
                take(a, b, apart);
            }
        }
    }
}

/// What one source says of strings.
#[inline(never)]
fn strings(notes: &Notes, source: Heard, pace: Option<u32>) -> Strings {
    let mut table = [[Pair::default(); STRINGS]; STRINGS];
    for (low, row) in table.iter_mut().enumerate() {
        for (high, pair) in row.iter_mut().enumerate().skip(low + 1) {
            *pair = between(notes, source, pace, (low, high));
        }
    }
    let reached = connected(&table);
    let mut late = [0_i32; STRINGS];
    // Each string where its pairs put it, by and by; strings in a row take the longest.
    for _ in 0..ROUNDS {
        for string in (0..STRINGS).filter(|&string| reached.has(string)) {
            let (mut sum, mut weights) = (0_i64, 0_i64);
            for (other, by) in late.iter().enumerate() {
                let pair = table.get(string.min(other)).and_then(|row| row.get(string.max(other)));
                let Some(pair) = pair.filter(|_| other != string) else { continue };
                let apart = if other < string { pair.apart } else { -pair.apart };
                sum += i64::from(by.saturating_add(apart)) * i64::from(pair.weight);
                weights += i64::from(pair.weight);
            }
            if let (Some(place), Some(mean)) = (late.get_mut(string), sum.checked_div(weights)) {
                *place = mean.clamp(-i64::from(PAUSE), PAUSE.into()) as i32;
            }
        }
    }
    let mut known: Vec<i32, STRINGS> = Vec::new();
    known.extend(late.iter().enumerate().filter(|(at, _)| reached.has(*at)).map(|(_, by)| *by));
    let middle = median(&mut known).unwrap_or(0);
    let mut all = [Lateness::NONE; STRINGS];
    for (string, into) in all.iter_mut().enumerate().filter(|(string, _)| reached.has(*string)) {
        let (scatter, count) = scatter(notes, source, pace, &late, string);
        let by = late.get(string).copied().unwrap_or(0).saturating_sub(middle);
        *into = Lateness::of_micros(by, scatter, count);
    }
    all
}

/// Rounds of placing strings: of six strings in a row each round leaves three quarters of the error.
const ROUNDS: usize = 24;

/// The median time that notes of string `high` come after those of `low` (indices), and how many pairs
/// say so.
#[inline(never)]
fn between(notes: &Notes, source: Heard, pace: Option<u32>, (low, high): (usize, usize)) -> Pair {
    let mut times = Times::new();
    let (low, high) = (low as u8, high as u8);
    let of = |a, b| (a, b) == (low, high) || (b, a) == (low, high);
    each_pair(notes, source, pace, &of, &mut |a, _, apart| {
        // What there is no room for is more than is needed.
        let _ = times.push(if a.string == low { apart } else { -apart });
    });
    let weight = times.len() as i32;
    Pair { apart: median(&mut times).unwrap_or(0), weight }
}

/// Of strings that pairs of notes connect, the set with the most pairs.
fn connected(table: &[[Pair; STRINGS]; STRINGS]) -> NoteSet {
    let weight = |a: usize, b: usize| {
        let pair = table.get(a.min(b)).and_then(|row| row.get(a.max(b)));
        pair.map_or(0, |pair| pair.weight)
    };
    let mut best = (0, NoteSet::NONE);
    for from in 0..STRINGS {
        let mut set = NoteSet::NONE;
        set.insert(from);
        for _ in 0..STRINGS {
            for string in 0..STRINGS {
                if (0..STRINGS).any(|other| set.has(other) && weight(string, other) > 0) {
                    set.insert(string);
                }
            }
        }
        let both = |a: usize, b: usize| set.has(a) && set.has(b);
        let all = (0..STRINGS).flat_map(|a| (a + 1..STRINGS).map(move |b| (a, b)));
        let weights = all.filter(|&(a, b)| both(a, b)).map(|(a, b)| weight(a, b)).sum();
        if weights > best.0 {
            best = (weights, set);
        }
    }
    best.1
}

/// How far the pairs of a string scatter around where the strings have been placed, over √2, and how
/// many of its notes are in pairs.
#[inline(never)]
fn scatter(
    notes: &Notes,
    source: Heard,
    pace: Option<u32>,
    late: &[i32; STRINGS],
    string: usize,
) -> (i32, u16) {
    let of = |one: &One| late.get(usize::from(one.string)).copied().unwrap_or(0);
    let mut left = Times::new();
    let mut paired = NoteSet::NONE;
    let string = string as u8;
    each_pair(notes, source, pace, &|a, b| a == string || b == string, &mut |a, b, apart| {
        let _ = left.push(apart.saturating_sub(of(b).saturating_sub(of(a))));
        paired.insert(usize::from(if a.string == string { a.event } else { b.event }));
    });
    let deviation = i64::from(robust_deviation(&mut left, 0));
    ((deviation * 1_000 / 1_414) as i32, paired.count() as u16)
}

/// Periods beyond what is usually taken off, in per cent.
#[inline(never)]
fn periods(notes: &Notes) -> Lateness {
    let mut shares = Times::new();
    each_pair(notes, Heard::InChords, None, &|_, _| true, &mut |a, b, apart| {
        let longer = b.period - a.period;
        if longer.abs() >= APART {
            let share = i64::from(apart) * 100 / i64::from(longer);
            let _ = shares.push(share.clamp(-30_000, 30_000) as i32);
        }
    });
    let count = shares.len() as u16;
    let Some(middle) = median(&mut shares) else { return Lateness::NONE };
    let scatter = robust_deviation(&mut shares, middle).min(i16::MAX.into());
    Lateness { by: middle as i16, scatter: scatter as u16, notes: count }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line up and down six strings, two notes on each, 250 ms a note, with strings late by
    /// `late`.
    fn line(late: [i32; 6]) -> Notes {
        let up = (0..12).map(|note| 5 - note / 2);
        let down = (0..12).map(|note| note / 2);
        let mut notes = Notes::new();
        for (event, string) in up.chain(down).enumerate() {
            let one = One {
                string: string as u8,
                event: event as u16,
                alone: true,
                written: Ticks::new(event as u32 * Ticks::PER_QUARTER / 2),
                at: event as i32 * 250_000 + late[string],
                period: 0,
            };
            assert!(notes.push(one).is_ok());
        }
        notes
    }

    fn said(notes: &Notes) -> [i32; 6] {
        let late = alone(notes, pace(notes, &[0; STRINGS]));
        core::array::from_fn(|string| {
            late[string].offset().as_micros() - late[0].offset().as_micros()
        })
    }

    #[test]
    fn a_step_between_strings_is_found_in_a_line() {
        for late in
            [[0; 6], [0, 0, 0, 60_000, 60_000, 60_000], [0, 5_000, 9_000, 14_000, 30_000, 41_000]]
        {
            for (found, late) in said(&line(late)).into_iter().zip(late) {
                assert!(found.abs_diff(late) <= 2_500, "{found}, not {late}");
            }
        }
    }

    #[test]
    fn chords_tell_strings_and_periods() {
        let late = [0, 1_000, 2_000, 60_000, 61_000, 62_000];
        let mut notes = Notes::new();
        for (event, string) in (0..8).flat_map(|event| (1..5).map(move |string| (event, string))) {
            let one = One {
                string: string as u8,
                event,
                alone: false,
                written: Ticks::new(u32::from(event) * Ticks::PER_QUARTER),
                at: i32::from(event) * 500_000 + late[string],
                period: 4_000 + 2_000 * string as i32,
            };
            assert!(notes.push(one).is_ok());
        }
        let found = strings(&notes, Heard::InChords, None);
        for string in 1..5 {
            let by = found[string].offset().as_micros() - found[1].offset().as_micros();
            assert!(by.abs_diff(late[string] - late[1]) <= 500, "{by} on string {}", string + 1);
            assert_eq!(found[string].notes, 8);
        }
        assert_eq!([found[0].notes, found[5].notes], [0, 0]);
        for one in &mut notes {
            one.at = i32::from(one.event) * 500_000 + one.period;
        }
        let told = periods(&notes);
        // Pairs whose periods differ by 4 or 6 ms, three a chord.
        assert_eq!((told.by, told.scatter, told.notes), (100, 0, 24));
    }
}
