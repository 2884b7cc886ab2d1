//! How much later low notes come: the outer strings plucked together.
//!
//! Thumb and finger pluck the lowest and the highest string at once. What the two notes are
//! apart is, in the middle of some plucks, the converter's doing: it hears so many periods of a
//! tone before it can tell its pitch. How late *all* notes come does not show in it.

use super::{Take, median};
use evenhand_core::pickup::Latency;
use evenhand_core::units::{Offset, Pitch};

/// Plucks that are needed. Our default.
pub const PINCHES: usize = 8;

/// Notes further apart than this are not one pluck, in microseconds. Our default: four periods
/// of the lowest string, and a hand that is not quite together.
const TOGETHER: u64 = 80_000;

/// Scatter (the median distance from the median) that is still believed, in microseconds. Our
/// default: chords of real guitar players spread by 11 ms (median of 633 notes in the open data
/// set GuitarSet), and the middle of eight is three times as certain.
const MOST_SCATTER: i64 = 8_000;

/// The most periods that a profile holds, in hundredths.
const MOST: i64 = 500;

/// What was found out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Periods {
    /// Hundredths of a period.
    Found {
        /// How many.
        percent: u16,
        /// From how many plucks.
        plucks: usize,
        /// The median distance from the median, in microseconds.
        scatter: i64,
    },
    /// So many plucks are too few.
    TooFew(usize),
    /// They were too uneven: the scatter, in microseconds.
    TooUneven(i64),
}

/// From plucks of two strings at once, whose MIDI note numbers are `low` and `high`.
pub fn periods(take: &Take, low: u8, high: u8) -> Periods {
    let mut apart = apart(take, low, high);
    let plucks = apart.len();
    if plucks < PINCHES {
        return Periods::TooFew(plucks);
    }
    let middle = median(&mut apart).unwrap_or(0);
    let mut off: Vec<i64> = apart.iter().map(|apart| (apart - middle).abs()).collect();
    let scatter = median(&mut off).unwrap_or(0);
    if scatter > MOST_SCATTER {
        return Periods::TooUneven(scatter);
    }
    let one = Latency { base: Offset::ZERO, periods_percent: 100 };
    let period = |pitch| Pitch::new(pitch).map_or(0, |pitch| i64::from(one.of(pitch).as_micros()));
    let difference = (period(low) - period(high)).max(1);
    let percent = (middle * 100 / difference).clamp(0, MOST);
    Periods::Found { percent: u16::try_from(percent).unwrap_or(0), plucks, scatter }
}

/// How much later the lower string came than the higher one, in the middle of the plucks, in
/// microseconds; `None` of too few.
pub fn outer(take: &Take, low: u8, high: u8) -> Option<i64> {
    let mut apart = apart(take, low, high);
    if apart.len() < PINCHES { None } else { median(&mut apart) }
}

/// How much later the lower string came, for each pluck.
fn apart(take: &Take, low: u8, high: u8) -> Vec<i64> {
    let mut apart = Vec::new();
    let of = |pitch: u8| take.notes.iter().filter(move |note| note.pitch == pitch);
    for bass in of(low) {
        let near = of(high).map(|treble| (bass.at.abs_diff(treble.at), treble));
        if let Some((distance, treble)) = near.min_by_key(|(distance, _)| *distance)
            && distance <= TOGETHER
        {
            let later = i64::try_from(distance).unwrap_or(0);
            apart.push(if bass.at >= treble.at { later } else { -later });
        }
    }
    apart
}

#[cfg(test)]
mod tests {
    use super::super::Note;
    use super::*;
    use evenhand_core::player::Chance;

    /// Eight plucks by somebody whose hand scatters by `scatter`, on a converter that needs
    /// `percent` of a period.
    fn plucks(percent: i64, scatter: i32, count: u64, seed: u64) -> Take {
        let mut chance = Chance::new(seed);
        let mut notes = Vec::new();
        for pluck in 1..=count {
            for (pitch, channel, period) in [(40, 5, 12_135), (64, 0, 3_034)] {
                let at = pluck as i64 * 1_000_000
                    + percent * period / 100
                    + i64::from(chance.normal(scatter));
                notes.push(Note { channel, pitch, velocity: 80, at: at as u64 });
            }
        }
        notes.sort_by_key(|note| note.at);
        Take { notes, ..Take::default() }
    }

    fn of(take: &Take) -> Periods {
        periods(take, 40, 64)
    }

    #[test]
    fn the_periods_of_the_converter_are_found() {
        // The periods of the open strings are textbook values: 1 / 82.41 Hz, 1 / 329.63 Hz.
        for percent in [100, 150, 200] {
            let Periods::Found { percent: found, .. } = of(&plucks(percent, 0, 8, 1)) else {
                panic!()
            };
            assert!(i64::from(found).abs_diff(percent) <= 1, "{found}, not {percent}");
        }
    }

    #[test]
    fn a_human_hand_scatters_and_the_middle_holds() {
        // Two hands of 4 ms each: the standard error of the median of twelve is 2 ms, 0.2
        // periods; three times that is asked for.
        for seed in 0..40 {
            let Periods::Found { percent, .. } = of(&plucks(150, 4_000, 12, seed)) else {
                panic!()
            };
            assert!((90..=210).contains(&percent), "{seed}: {percent}");
        }
    }

    #[test]
    fn what_is_not_enough_is_said() {
        assert_eq!(of(&plucks(150, 0, 5, 1)), Periods::TooFew(5));
        assert!(matches!(of(&plucks(150, 25_000, 16, 2)), Periods::TooUneven(_)));
    }
}
