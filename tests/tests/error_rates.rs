//! How often the judge is wrong, as two tables: `golden/error-rates.txt` for what any music has a
//! place for, `golden/error-rates-more.txt` for the rest; and the goals for them.
//!
//! `EVENHAND_BLESS=1` writes the tables anew; then look at what changed.

use evenhand_tests::lab::golden;
use evenhand_tests::lab::rows::{Row, more_rows, rows};
use evenhand_tests::lab::table::{HEAD, HEAD_OF_MORE, missed, text};

/// Goals that are known not to be reached yet, by the beginning of what is said of them. What is
/// reached stands in the table; the list only ever gets shorter.
const NOT_YET: [&str; 0] = [];

/// One test a table, so that the attempts are played once.
fn check(name: &str, head: &str, rows: &[Row]) {
    let changes = golden::compare(name, &text(head, rows));
    let missed = missed(rows);
    let new: Vec<&str> = missed
        .lines()
        .filter(|line| !line.trim().is_empty())
        .filter(|line| !NOT_YET.iter().any(|known| line.starts_with(known)))
        .collect();
    assert!(new.is_empty(), "goals that are not reached:\n{}", new.join("\n"));
    for known in NOT_YET {
        assert!(missed.contains(known), "{known}reached now: take it off the list");
    }
    assert!(changes.is_empty(), "the error rates changed:\n{changes}");
}

#[test]
fn the_goals_are_reached_and_the_table_is_as_it_was() {
    check("error-rates.txt", HEAD, &rows());
}

#[test]
fn the_goals_are_reached_for_what_only_some_music_has() {
    check("error-rates-more.txt", HEAD_OF_MORE, &more_rows());
}
