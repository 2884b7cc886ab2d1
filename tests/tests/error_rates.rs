//! How often the judge is wrong, as a table: `golden/error-rates.txt`.
//!
//! `EVENHAND_BLESS=1` writes the table anew; then look at what changed.

use evenhand_tests::lab::table;
use evenhand_tests::program::workspace;

/// One test, so that the attempts are played once.
#[test]
fn the_goals_are_reached_and_the_table_is_as_it_was() {
    let rows = table::rows();
    let text = table::text(&rows);
    let path = workspace().join("tests/golden/error-rates.txt");
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder for it");
        std::fs::write(&path, &text).expect("the table can be written");
    }
    let missed = table::missed(&rows);
    assert!(missed.is_empty(), "goals that are not reached:\n{missed}");
    let before = std::fs::read_to_string(&path).expect("the table is there");
    let changed: Vec<String> = text
        .lines()
        .zip(before.lines())
        .filter(|(now, before)| now != before)
        .map(|(now, before)| format!("-{before}\n+{now}\n"))
        .collect();
    assert!(text == before, "the error rates changed:\n{}", changed.concat());
}
