//! Chords with the spread and the order of arrival of real guitars: no note may be mispaired.
//!
//! Reference for the timing: figures measured on GuitarSet (Xi et al. 2018, CC BY 4.0); see
//! `evenhand_tests::chords`, which also checks that its chords come out like them.

use evenhand_tests::attempt::Attempt;
use evenhand_tests::chords::progression;
use evenhand_tests::program::{Channels, judge};
use evenhand_tests::seeded::Seeded;

const CHORDS: usize = 1_000;
const CHORDS_IN_A_PROGRESSION: usize = 16;

fn progressions() -> impl Iterator<Item = (u64, Attempt)> {
    (0..CHORDS.div_ceil(CHORDS_IN_A_PROGRESSION) as u64)
        .map(|seed| (seed, progression(CHORDS_IN_A_PROGRESSION, &mut Seeded::new(seed))))
}

fn check(channels: Channels) {
    let mut complaints = String::new();
    let mut notes = 0;
    for (seed, attempt) in progressions() {
        let strings_known = channels == Channels::PerString;
        let attempt = if strings_known { attempt } else { attempt.on_one_channel() };
        notes += attempt.expected.len();
        let said = match judge(&attempt, channels) {
            Ok(judged) => judged.labels.differences(&attempt.truth(), &attempt, strings_known),
            Err(error) => format!("  {error}\n"),
        };
        if !said.is_empty() {
            complaints += &format!("seed {seed}:\n{said}");
        }
    }
    assert!(notes > 2 * CHORDS, "only {notes} notes were tried");
    assert!(complaints.is_empty(), "{complaints}");
}

#[test]
fn no_chord_note_is_mispaired_with_a_channel_per_string() {
    check(Channels::PerString);
}

#[test]
fn no_chord_note_is_mispaired_on_one_channel() {
    check(Channels::One);
}
