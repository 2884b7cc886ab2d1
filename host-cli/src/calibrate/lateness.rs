//! How late each string comes: four strings plucked at once.
//!
//! Thumb and three fingers pluck strings 4 to 1 together, and then 6 to 3. What a string is apart from
//! string 4 is, in the middle of the plucks, the converter's doing.

use super::{Take, median};
use evenhand_core::pickup::Latency;
use evenhand_core::units::{Offset, Pitch};

/// Plucks of four strings that are needed. Our default, as for two.
pub const GRIPS: usize = 6;

/// The string that both grips have and that the others are compared with.
const LINK: usize = 4;

/// Notes further apart than this are not one pluck, in microseconds. Our default: more than the widest
/// step that was measured (60 ms) and a hand that is not quite together.
const TOGETHER: i64 = 120_000;

/// Scatter (the median distance from the median) that is still believed, in microseconds; as for two
/// strings.
const MOST_SCATTER: i64 = 8_000;

/// How far strings may be from what periods of the pitch explain, in microseconds, before they are told one by
/// one. Our default: a third of what the level `steady` allows single chords.
const EXPLAINED: i64 = 13_000;

/// The two ways to one difference, through the grips and by the outer strings alone, may be apart by
/// so much, in microseconds. Our default.
const AGREE: i64 = 15_000;

/// One string against the middle of all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StringLate {
    /// Beyond one period of the open string, in hundredths of a millisecond.
    pub by: i16,
    /// The standard deviation of its plucks, in hundredths of a millisecond.
    pub scatter: u16,
}

/// What was found out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lateness {
    /// For each string, the highest first, where it was heard.
    Strings(Vec<Option<StringLate>>),
    /// Periods of the pitch say it all.
    Periods,
    /// Fewer than two strings came often enough with string 4.
    TooFew,
    /// The two ways to one difference do not agree: the hands were not together.
    TooUneven,
}

/// From plucks of strings 4 to 1 (`upper`) and 6 to 3 (`lower`). `open` are the open strings' MIDI note
/// numbers, the highest string first; `outer` is how much later string 6 came than string 1 when these
/// two were plucked alone, in microseconds.
pub fn lateness(upper: &Take, lower: &Take, open: &[u8], outer: Option<i64>) -> Lateness {
    let mut late: Vec<Option<(i64, i64)>> = vec![None; open.len()];
    if let Some(link) = late.get_mut(LINK - 1) {
        *link = Some((0, 0));
    }
    for (take, strings) in [(upper, 1..=3), (lower, 5..=6)] {
        for string in strings {
            late[string - 1] = against_the_link(take, open, string);
        }
    }
    if late.iter().flatten().count() < 2 {
        return Lateness::TooFew;
    }
    if let (Some((first, _)), Some((last, _)), Some(outer)) = (late[0], late[5], outer)
        && (last - first - outer).abs() > AGREE
    {
        return Lateness::TooUneven;
    }
    let one = Latency { base: Offset::ZERO, periods_percent: 100 };
    let period =
        |pitch: u8| Pitch::new(pitch).map_or(0, |pitch| i64::from(one.of(pitch).as_micros()));
    let periods_explain = (0..=250).step_by(10).any(|percent| {
        let mut left: Vec<i64> = late
            .iter()
            .zip(open)
            .filter_map(|(late, open)| Some((*late)?.0 - period(*open) * percent / 100))
            .collect();
        let middle = median(&mut left).unwrap_or(0);
        left.iter().all(|left| (left - middle).abs() <= EXPLAINED)
    });
    if periods_explain {
        return Lateness::Periods;
    }
    for (late, open) in late.iter_mut().zip(open) {
        *late = late.map(|(by, scatter)| (by - period(*open), scatter));
    }
    let middle = median(&mut late.iter().flatten().map(|late| late.0).collect::<Vec<_>>());
    let middle = middle.unwrap_or(0);
    let told = |(by, scatter): (i64, i64)| StringLate {
        by: i16::try_from((by - middle) / 10).unwrap_or(0),
        // 1.4826 median distances are a standard deviation (Hampel 1974).
        scatter: u16::try_from(scatter * 14_826 / 100_000).unwrap_or(0),
    };
    Lateness::Strings(late.into_iter().map(|late| late.map(told)).collect())
}

/// How much later than string 4 a string came, and how far that scatters: medians.
fn against_the_link(take: &Take, open: &[u8], string: usize) -> Option<(i64, i64)> {
    let of = |string: usize| {
        let pitch = open.get(string - 1).copied();
        take.notes.iter().filter(move |note| Some(note.pitch) == pitch)
    };
    let mut apart: Vec<i64> = of(LINK)
        .filter_map(|link| {
            let apart = |at: u64| at as i64 - link.at as i64;
            of(string).map(|note| apart(note.at)).min_by_key(|apart| apart.abs())
        })
        .filter(|apart| apart.abs() <= TOGETHER)
        .collect();
    if apart.len() < GRIPS {
        return None;
    }
    let middle = median(&mut apart)?;
    let mut off: Vec<i64> = apart.iter().map(|apart| (apart - middle).abs()).collect();
    let scatter = median(&mut off)?;
    (scatter <= MOST_SCATTER).then_some((middle, scatter))
}

#[cfg(test)]
mod tests {
    use super::super::Note;
    use super::*;
    use evenhand_core::player::Chance;

    const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];
    const PERIODS: [i64; 6] = [3_034, 4_050, 5_102, 6_810, 9_091, 12_135];

    /// Eight plucks of these strings by hands of 4 ms, on strings that are late by `late` and `percent` of a
    /// period.
    fn plucks(strings: &[usize], late: [i64; 6], percent: i64, seed: u64) -> Take {
        let mut chance = Chance::new(seed);
        let mut notes = Vec::new();
        for pluck in 1..=8 {
            for &string in strings {
                let at = pluck * 1_000_000
                    + late[string - 1]
                    + PERIODS[string - 1] * percent / 100
                    + i64::from(chance.normal(4_000));
                let (channel, pitch) = (string as u8 - 1, OPEN[string - 1]);
                notes.push(Note { channel, pitch, velocity: 80, at: at as u64 });
            }
        }
        notes.sort_by_key(|note| note.at);
        Take { notes, ..Take::default() }
    }

    fn found(late: [i64; 6], percent: i64, outer: i64, seed: u64) -> Lateness {
        let upper = plucks(&[1, 2, 3, 4], late, percent, seed);
        let lower = plucks(&[3, 4, 5, 6], late, percent, seed + 100);
        lateness(&upper, &lower, &OPEN, Some(outer))
    }

    #[test]
    fn a_step_between_strings_is_found() {
        let mut whole = 0;
        for seed in 0..40 {
            let step = [0, 0, 0, 60_000, 60_000, 60_000];
            let Lateness::Strings(strings) = found(step, 100, 69_000, seed) else {
                panic!("{seed}")
            };
            let link = i32::from(strings[LINK - 1].expect("the link").by);
            for (string, by) in strings.iter().zip([-6_000, -6_000, -6_000, 0, 0, 0]) {
                let Some(string) = string else { continue };
                // Three standard errors of a median of eight differences are 7.5 ms.
                let apart = i32::from(string.by) - link;
                assert!(apart.abs_diff(by) <= 1_000, "{seed}: {strings:?}");
            }
            whole += usize::from(strings.iter().all(Option::is_some));
        }
        // Now and then eight plucks of a string scatter so much that nothing is said of it.
        assert!(whole >= 36, "{whole} of 40 with all strings");
    }

    #[test]
    fn what_periods_explain_is_left_to_them() {
        for seed in 0..40 {
            assert_eq!(found([0; 6], 200, 18_000, seed), Lateness::Periods, "{seed}");
        }
    }

    #[test]
    fn what_is_not_enough_is_said() {
        let none = Take::default();
        assert_eq!(lateness(&none, &none, &OPEN, None), Lateness::TooFew);
        let step = [0, 0, 0, 60_000, 60_000, 60_000];
        assert_eq!(found(step, 100, 5_000, 1), Lateness::TooUneven);
        // Four strings are kept where two were not heard.
        let upper = plucks(&[1, 2, 3, 4], step, 100, 3);
        let Lateness::Strings(strings) = lateness(&upper, &none, &OPEN, None) else { panic!() };
        assert_eq!(strings.iter().filter(|string| string.is_some()).count(), 4);
        assert_eq!([strings[4], strings[5]], [None, None]);
    }
}
