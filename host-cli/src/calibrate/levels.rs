//! How loud each string arrives, how far that scatters, and whether velocity says anything.

use super::{Take, median};
use evenhand_core::notes::level_of;
use evenhand_core::units::Velocity;

/// Notes that a string needs, so that its level is told. Our default: the median of four even
/// plucks is within half their scatter.
const FEWEST: usize = 4;

/// Strings that have to be heard. Our default.
const FEWEST_STRINGS: usize = 4;

/// Notes that have to be alike, so that velocity is called fixed. Our default: nobody plays so
/// many alike.
const FEWEST_ALIKE: usize = 12;

/// Smaller differences are not told: what a listener cannot tell from equal (0.7 to 1.2 dB on
/// consecutive tones; 2022 study, Musicae Scientiae). In hundredths of a dB.
const TELLING: i64 = 70;

/// What was found out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Levels {
    /// Every note came with the same velocity.
    Fixed(u8),
    /// For each string, the highest first, how much louder than the middle of all it arrives, in
    /// hundredths of a dB.
    Strings(Vec<i16>),
    /// These strings, from 1, have too few notes, and too few others have enough.
    TooFew(Vec<u8>),
}

/// From what came of each string, the highest string first.
pub fn levels(strings: &[Take]) -> Levels {
    let velocities: Vec<Vec<u8>> =
        strings.iter().map(|take| take.main().iter().map(|note| note.velocity).collect()).collect();
    let all: Vec<u8> = velocities.iter().flatten().copied().collect();
    if let Some(&first) = all.first()
        && all.len() >= FEWEST_ALIKE
        && all.iter().all(|velocity| *velocity == first)
    {
        return Levels::Fixed(first);
    }
    let few: Vec<u8> = (1..)
        .zip(&velocities)
        .filter(|(_, string)| string.len() < FEWEST)
        .map(|(number, _)| number)
        .collect();
    if strings.len() - few.len() < FEWEST_STRINGS {
        return Levels::TooFew(few);
    }
    let level = |velocity: &u8| {
        Velocity::new(*velocity).map(|velocity| i64::from(level_of(velocity).hundredths()))
    };
    let of = |string: &Vec<u8>| {
        let enough = string.len() >= FEWEST;
        enough.then(|| median(&mut string.iter().filter_map(level).collect::<Vec<_>>())).flatten()
    };
    let medians: Vec<Option<i64>> = velocities.iter().map(of).collect();
    let middle = median(&mut medians.iter().flatten().copied().collect::<Vec<_>>()).unwrap_or(0);
    // A string that was not heard often enough is taken to arrive like the others.
    let above = |level: Option<i64>| match level.unwrap_or(middle) - middle {
        small if small.abs() < TELLING => 0,
        above => i16::try_from(above).unwrap_or(0),
    };
    Levels::Strings(medians.into_iter().map(above).collect())
}

/// How far the levels of a string scatter that is plucked evenly, in hundredths of a dB, the highest string
/// first: the standard deviation of its notes, the hand's part included. None of a string with fewer than
/// four.
pub fn level_scatter(strings: &[Take]) -> Vec<Option<i16>> {
    let of = |take: &Take| {
        let velocities = take.main().into_iter().filter_map(|note| Velocity::new(note.velocity));
        let levels: Vec<i64> = velocities.map(|v| level_of(v).hundredths().into()).collect();
        let number = i64::try_from(levels.len()).unwrap_or(i64::MAX);
        if levels.len() < FEWEST {
            return None;
        }
        let mean = levels.iter().sum::<i64>() / number;
        let squares: i64 = levels.iter().map(|level| (level - mean).pow(2)).sum();
        i16::try_from((squares / (number - 1)).isqrt()).ok()
    };
    strings.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Note;
    use super::*;

    fn take(velocities: &[u8]) -> Take {
        let notes = velocities
            .iter()
            .zip(0..)
            .map(|(velocity, at)| Note { channel: 0, pitch: 60, velocity: *velocity, at })
            .collect();
        Take { notes, ..Take::default() }
    }

    #[test]
    fn a_string_that_arrives_softer_is_told() {
        let mut strings = vec![take(&[80, 82, 78, 81, 79]); 6];
        strings[4] = take(&[60, 61, 59, 60, 60]);
        // 40 log10(60 / 80) = -5.00 dB (computed).
        assert_eq!(levels(&strings), Levels::Strings(vec![0, 0, 0, 0, -500, 0]));
    }

    #[test]
    fn scatter_is_that_of_even_plucks() {
        // 40 log10(80 / 60) = 5.00 dB (computed): two notes 2.50 dB above their mean and two as much below
        // have a standard deviation of 2.50 dB times the root of 4 / 3, 2.89 dB.
        let strings = [take(&[80, 60, 80, 60]), take(&[80; 5]), take(&[80, 60])];
        assert_eq!(level_scatter(&strings), [Some(288), Some(0), None]);
    }

    #[test]
    fn one_velocity_for_all_is_fixed() {
        assert_eq!(levels(&vec![take(&[100; 5]); 6]), Levels::Fixed(100));
    }

    #[test]
    fn too_few_notes_are_said() {
        let mut strings = vec![take(&[80, 82, 78, 81, 79]); 6];
        strings[1] = take(&[80, 82]);
        strings[5] = Take::default();
        strings[2] = take(&[60, 61, 59, 60, 60]);
        let four = Levels::Strings(vec![0, 0, -500, 0, 0, 0]);
        assert_eq!(levels(&strings), four, "what four strings say is kept");
        strings[0] = Take::default();
        assert_eq!(levels(&strings), Levels::TooFew(vec![1, 2, 6]));
    }
}
