//! How often a pickup errs, as settings of a profile and in words.

use evenhand_core::pickup::{Habits, ONE, StringHabits, TrackingError};
use evenhand_core::units::GuitarString;

/// The setting with how many notes were heard of each string.
pub(super) const NOTES: &str = "notes-heard";

/// The settings with how often each mistake was made.
pub(super) const ERRORS: [(&str, TrackingError); 8] = [
    ("errors-lost", TrackingError::Lost),
    ("errors-lost-repeats", TrackingError::LostRepeat),
    ("errors-doubles", TrackingError::Double),
    ("errors-ghosts", TrackingError::Ghost),
    ("errors-stale", TrackingError::Stale),
    ("errors-blips", TrackingError::Blip),
    ("errors-octaves", TrackingError::Octave),
    ("errors-trailing", TrackingError::Trailing),
];

/// Places of a line: six strings, and notes of no string that is known.
const PLACES: u8 = 7;

/// The most that is kept of a string, see the core's habits.
const MOST: f64 = 255.0;

fn place(number: u8) -> Option<GuitarString> {
    GuitarString::new(number).filter(|_| number < PLACES)
}

/// Sets what a line says; none where `name` is no line of these.
pub(super) fn set(habits: &mut Habits, name: &str, value: &str) -> Option<Result<(), String>> {
    let error = ERRORS.iter().find(|(known, _)| *known == name).map(|(_, error)| *error);
    if error.is_none() && name != NOTES {
        return None;
    }
    Some(numbers(name, value).map(|numbers| {
        for (number, sixteenths) in (1..).zip(numbers) {
            let string = habits.string_mut(place(number));
            match error {
                None => string.notes = sixteenths,
                Some(error) => string.set(error, sixteenths),
            }
        }
    }))
}

/// Numbers by string, string 1 first and notes of no known string last, in sixteenths.
fn numbers(name: &str, value: &str) -> Result<Vec<u16>, String> {
    let parts: Vec<&str> = value.split(',').map(str::trim).collect();
    if parts.len() > usize::from(PLACES) {
        return Err(format!(
            "{name}: {} numbers; there are six strings, and at last what came on none that is known",
            parts.len()
        ));
    }
    let sixteenths = |part: &&str| {
        let number = part.parse::<f64>().ok().filter(|number| (0.0..=MOST).contains(number));
        number
            .map(|number| (number * f64::from(ONE)).round() as u16)
            .ok_or_else(|| format!("{name}: “{part}” is no number from 0 to 255"))
    };
    parts.iter().map(sixteenths).collect()
}

/// The lines of what was learnt.
pub(super) fn lines(habits: &Habits) -> impl Iterator<Item = (&'static str, String)> {
    let line = |number: &dyn Fn(&StringHabits) -> u16| {
        let one = |place: GuitarStringPlace| {
            format!("{}", f64::from(number(habits.string(place))) / f64::from(ONE))
        };
        let mut all: Vec<String> = (1..=PLACES).map(|number| one(place(number))).collect();
        while all.len() > 1 && all.last().is_some_and(|last| last == "0") {
            all.pop();
        }
        if all == ["0"] { String::new() } else { all.join(", ") }
    };
    let notes = (NOTES, line(&|string| string.notes));
    let errors = ERRORS.map(|(name, error)| (name, line(&|string| string.errors(error))));
    [notes].into_iter().chain(errors)
}

type GuitarStringPlace = Option<GuitarString>;

/// Of fewer notes nothing is said. Our default.
const FEWEST: u16 = 24 * ONE;

/// What is rarer is not worth a word: one note in so many. Our default.
const RARE: u16 = 40;

/// What the pickup does oftener than now and then, a sentence for each, the worst first.
pub(crate) fn sentences(habits: &Habits) -> Vec<String> {
    let mut found = Vec::new();
    for number in 1..=PLACES {
        let string = habits.string(place(number));
        if string.notes < FEWEST {
            continue;
        }
        for (_, error) in ERRORS {
            let count = string.errors(error);
            if count > 0 && string.notes / count < RARE {
                found.push((string.notes / count, sentence(place(number), error, string)));
            }
        }
    }
    found.sort();
    found.into_iter().map(|(_, sentence)| sentence).collect()
}

fn sentence(string: GuitarStringPlace, error: TrackingError, habits: &StringHabits) -> String {
    let whose = match string {
        Some(string) => format!("String {}", string.number()),
        None => "The pickup".to_owned(),
    };
    let one_in = (f64::from(habits.notes) / f64::from(habits.errors(error).max(1))).round();
    let often = match one_in {
        often if often <= 1.0 => "with nearly every note".to_owned(),
        often => format!("about once in {often} notes"),
    };
    let what = match error {
        TrackingError::Lost => "loses a note",
        TrackingError::LostRepeat => "takes two strokes of one note for one",
        TrackingError::Double => "sends a note twice",
        TrackingError::Ghost => "sends a note that another string made",
        TrackingError::Stale => "sends the note before once more in place of the new one",
        TrackingError::Blip => "sends another pitch for a moment",
        TrackingError::Octave => "sends a note an octave or a twelfth off",
        TrackingError::Trailing => "sends what a lifted finger leaves",
    };
    format!("{whose} {what}, {often}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_string_does_often_is_said_the_worst_first() {
        let mut habits = Habits::NONE;
        let six = habits.string_mut(GuitarString::new(6));
        (0..120).for_each(|_| six.count_note());
        six.set(TrackingError::Double, 10 * ONE);
        six.set(TrackingError::Octave, 5 * ONE);
        six.set(TrackingError::Lost, ONE);
        let words = sentences(&habits);
        let said = [
            "String 6 sends a note twice, about once in 12 notes.",
            "String 6 sends a note an octave or a twelfth off, about once in 24 notes.",
        ];
        assert_eq!(words, said);
        // Too little was heard of it.
        habits.string_mut(GuitarString::new(6)).notes = 23 * ONE;
        assert_eq!(sentences(&habits), Vec::<String>::new());
    }

    #[test]
    fn what_is_written_is_read() {
        let mut habits = Habits::NONE;
        habits.string_mut(GuitarString::new(2)).notes = 40 * ONE;
        habits.string_mut(GuitarString::new(2)).set(TrackingError::Stale, 24);
        habits.string_mut(None).notes = 3 * ONE;
        let mut read = Habits::NONE;
        for (name, value) in lines(&habits).filter(|(_, value)| !value.is_empty()) {
            assert_eq!(set(&mut read, name, &value), Some(Ok(())), "{name} = {value}");
        }
        assert_eq!(read, habits);
        assert!(set(&mut read, NOTES, "1, 2, x").is_some_and(|set| set.is_err()));
        assert!(set(&mut read, NOTES, "256").is_some_and(|set| set.is_err()));
        assert!(set(&mut read, "errors-of-mine", "1").is_none());
    }
}
