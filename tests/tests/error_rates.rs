//! How often the judge is wrong, as a table: `golden/error-rates.txt`, and the goals for it.
//!
//! `EVENHAND_BLESS=1` writes the table anew; then look at what changed.

use evenhand_tests::lab::{golden, table};

/// Goals that are known not to be reached yet, by the beginning of what is said of them. What is
/// reached stands in the table; the list only ever gets shorter.
const NOT_YET: [&str; 1] = [
    // 91 % instead of 94 %: at this level drift takes a part of what scatter does in chunks of a
    // few notes.
    "unsteadiness, first, size 2000, 3 together, study: ",
];

/// One test, so that the attempts are played once.
#[test]
fn the_goals_are_reached_and_the_table_is_as_it_was() {
    let rows = table::rows();
    let changes = golden::compare("error-rates.txt", &table::text(&rows));
    let missed = table::missed(&rows);
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
