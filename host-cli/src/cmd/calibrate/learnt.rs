//! What was learnt of each string, in a sentence.

use super::found::{Found, open};
use super::{FEWEST_HEARD, STRINGS};
use crate::calibrate::Take;
use evenhand_core::pickup::Pickup;
use evenhand_core::units::{GuitarString, Pitch};

const UNKNOWN_LEVEL: &str = "how loud is not known";

/// A sentence for each string that was heard, the lowest first: how late it comes, how far that
/// scatters, how loud it arrives, and how far that scatters.
pub(super) fn by_string(found: &Found, strings: &[Take]) -> Vec<String> {
    let knows_levels = found.remarks.iter().any(|(setting, _)| *setting == "string-levels-db");
    let pickup = &found.pickup;
    let heard = |number: u8| {
        let take = strings.get(usize::from(number) - 1);
        take.is_some_and(|take| take.main().len() >= FEWEST_HEARD)
    };
    let all = STRINGS.iter().filter(|(number, ..)| heard(*number));
    let head = "Of each string, against the middle of all:".to_owned();
    let lines = all.map(|(number, ..)| {
        let level = if knows_levels { level(pickup, *number) } else { UNKNOWN_LEVEL.to_owned() };
        format!("String {number}: {}; {level}.", late(pickup, strings, *number))
    });
    [head].into_iter().chain(lines).collect()
}

fn late(pickup: &Pickup, strings: &[Take], number: u8) -> String {
    let ms =
        |hundredths: i32| format!("{}.{}", hundredths.abs() / 100, hundredths.abs() % 100 / 10);
    let string = GuitarString::new(number);
    if let Some(known) = pickup.habits.late(string) {
        let by = i32::from(known.by);
        let word = if by < 0 { "earlier" } else { "later" };
        return format!("{} ms {word}, give or take {}", ms(by), ms(known.scatter.into()));
    }
    let pitch = Pitch::new(open(strings, number));
    let latency = pitch.map_or(0, |pitch| pickup.latency.of(pitch).as_micros() / 10);
    if latency > 0 {
        return format!("open, {} ms late by its pitch", ms(latency));
    }
    "how late is not known".to_owned()
}

fn level(pickup: &Pickup, number: u8) -> String {
    let level = pickup.string_levels.get(usize::from(number) - 1);
    let db = |level: i32| format!("{}.{}", level.abs() / 100, level.abs() % 100 / 10);
    let by = match level.map_or(0, |level| i32::from(level.hundredths())) {
        0 => "as loud".to_owned(),
        level => {
            let word = if level < 0 { "softer" } else { "louder" };
            format!("{} dB {word}", db(level))
        }
    };
    match pickup.scatter_of_levels(GuitarString::new(number)).hundredths() {
        0 => by,
        scatter => format!("{by}, give or take {} dB", db(scatter.into())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::pickup::{Latency, Lateness};
    use evenhand_core::units::Level;

    fn heard() -> Vec<Take> {
        let mut takes = vec![Take::default(); 6];
        for (take, open) in takes.iter_mut().zip([64, 59, 55, 50, 45, 40]) {
            for pluck in 0..5_u64 {
                take.hear(&[0x90, open, 80], pluck * 1_000_000);
            }
        }
        takes
    }

    #[test]
    fn each_string_has_its_sentence_the_lowest_first() {
        let mut found = Found::default();
        found.remarks.push(("string-levels-db", String::new()));
        let pickup = &mut found.pickup;
        pickup.habits.string_mut(GuitarString::new(6)).late.known =
            Lateness { by: 3_025, scatter: 410, notes: 6 };
        pickup.habits.string_mut(GuitarString::new(1)).late.known =
            Lateness { by: -2_990, scatter: 90, notes: 6 };
        pickup.string_levels[4] = Level::from_hundredths(-480);
        pickup.level_scatter[4] = Level::from_hundredths(130);
        let mut takes = heard();
        takes[2] = Take::default();
        let said = by_string(&found, &takes);
        assert_eq!(said.len(), 6, "{said:?}");
        assert_eq!(said[1], "String 6: 30.2 ms later, give or take 4.1; as loud.");
        assert!(said[2].ends_with("4.8 dB softer, give or take 1.3 dB."), "{}", said[2]);
        assert!(said[5].contains("29.9 ms earlier, give or take 0.9"), "{}", said[5]);
    }

    #[test]
    fn what_is_not_known_is_not_made_up() {
        let mut found = Found::default();
        let said = by_string(&found, &heard());
        assert_eq!(said[2], "String 5: how late is not known; how loud is not known.");
        found.pickup.latency = Latency { periods_percent: 150, ..Latency::NONE };
        // A period of the open low E takes 12.1 ms.
        let said = by_string(&found, &heard());
        assert!(said[1].contains("open, 18.2 ms late by its pitch"), "{}", said[1]);
    }
}
