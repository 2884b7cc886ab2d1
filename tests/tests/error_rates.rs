//! How often the judge is wrong, as a table: `golden/error-rates.txt`, and the goals for it.
//!
//! `EVENHAND_BLESS=1` writes the table anew; then look at what changed.

use evenhand_tests::lab::{golden, table};

/// One test, so that the attempts are played once.
#[test]
fn the_goals_are_reached_and_the_table_is_as_it_was() {
    let rows = table::rows();
    let changes = golden::compare("error-rates.txt", &table::text(&rows));
    let missed = table::missed(&rows);
    assert!(missed.is_empty(), "goals that are not reached:\n{missed}");
    assert!(changes.is_empty(), "the error rates changed:\n{changes}");
}
