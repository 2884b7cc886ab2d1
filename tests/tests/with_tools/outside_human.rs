//! The judge on a human performance whose alignment other people made.
//!
//! Reference: `mozart_k265_var1.match` in the Python package parangonar 3.4.0 (Apache-2.0), a
//! performance of 24 bars of 2/4 with each note aligned to the score: 218 written notes, all
//! played, and one note more. No two written notes share onset and pitch and none is a grace
//! note, so the judge's order of expected notes is the only one; `the_file_is_as_described`
//! holds that down.

use evenhand_tests::attempt::Attempt;
use evenhand_tests::labels::Counts;
use evenhand_tests::matchfile::{self, Match};
use evenhand_tests::outside;
use evenhand_tests::program::{Channels, judge};

fn performance() -> Match {
    matchfile::parse(&outside::data("mozart_k265_var1.match")).expect("the match file reads")
}

/// What is wrong with the judge's labels, or nothing.
fn complaint(attempt: &Attempt) -> Option<String> {
    let judged = match judge(attempt, Channels::One) {
        Ok(judged) => judged,
        Err(error) => return Some(format!("  {error}\n")),
    };
    let differences = judged.labels.differences(&attempt.truth(), attempt, false);
    if differences.is_empty() { None } else { Some(differences) }
}

fn check_windows(bars: u32, number: usize) {
    let performance = performance();
    let windows: Vec<u32> = (1..=performance.last_bar() + 1 - bars).collect();
    assert_eq!(windows.len(), number);
    let mut complaints = String::new();
    for first in windows {
        if let Some(complaint) = complaint(&performance.window(first, bars)) {
            complaints += &format!("bars {first} to {}:\n{complaint}", first + bars - 1);
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
}

pub(crate) fn the_file_is_as_described() {
    let performance = performance();
    assert_eq!(performance.last_bar(), 24);
    let whole = performance.window(1, 24);
    assert_eq!(whole.truth().counts(), Counts { pairs: 218, wrong: 0, missing: 0, extra: 1 });
    assert!(whole.twins(false).is_empty());
    assert!(whole.expected.iter().all(|note| note.length > 0));
}

pub(crate) fn every_note_of_the_whole_piece_is_paired_as_in_the_reference() {
    let whole = performance().window(1, 24);
    assert_eq!(complaint(&whole).unwrap_or_default(), "");
}

pub(crate) fn a_score_at_another_tempo_changes_no_pair() {
    // Half, two thirds, one and a half times and twice the played tempo.
    for (times, by) in [(2, 1), (3, 2), (2, 3), (1, 2)] {
        let mut whole = performance().window(1, 24);
        whole.micros_per_quarter = whole.micros_per_quarter * times / by;
        let complaint = complaint(&whole).unwrap_or_default();
        assert_eq!(complaint, "", "quarters {times}/{by} times as long");
    }
}

pub(crate) fn every_note_is_right_in_each_window_of_four_bars() {
    check_windows(4, 21);
}

pub(crate) fn every_note_is_right_in_each_window_of_eight_bars() {
    check_windows(8, 17);
}
