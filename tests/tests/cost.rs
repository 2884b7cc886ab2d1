//! What judging costs on the smallest processor: the most instructions for a byte, for a note and
//! for a verdict, counted on the emulated board, as a table: `golden/cost.txt`.
//!
//! Another version of the compiler makes other instructions, so each number may differ by a
//! fifth. EVENHAND_BLESS=1 writes the table anew; say in the commit what made it better or worse.

use std::path::{Path, PathBuf};

use xtask::{embedded, emulator};

fn kept() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/cost.txt")
}

/// The rows of a table: what was played, and its numbers.
fn rows(table: &str) -> Vec<(String, Vec<u64>)> {
    let rows = table.lines().filter_map(|line| line.split_once(": "));
    rows.filter(|(name, _)| name.starts_with("single") || name.starts_with("chords"))
        .map(|(name, numbers)| {
            let numbers = numbers.split(", ").map(|number| number.parse().expect("a number"));
            (name.to_owned(), numbers.collect())
        })
        .collect()
}

#[test]
fn judging_costs_what_it_did() {
    let image = embedded::cost_image()
        .unwrap_or_else(|stop| panic!("no image: run `cargo xtask test`\n{stop}"));
    let ran = emulator::run_counting(&image, emulator::PATIENCE_COUNTING).expect("it runs");
    assert!(ran.success, "{}", ran.complaint);
    let said = String::from_utf8_lossy(&ran.transcript).into_owned();
    println!("{said}");
    let is_table =
        |line: &&str| ["byte,", "single", "chords"].iter().any(|start| line.starts_with(start));
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        let table: String = said.lines().filter(is_table).map(|line| format!("{line}\n")).collect();
        std::fs::write(kept(), table).expect("the folder can be written");
    }
    let before = rows(&std::fs::read_to_string(kept()).expect("the table is kept"));
    let now = rows(&said);
    assert_eq!(before.len(), 6, "single notes and chords, 16, 64 and 256 of them");
    assert_eq!(before.len(), now.len());
    // One byte's time on the line at 125 MHz (320 us, MIDI 1.0): a note at 64 expected single notes
    // is worked off before the next byte comes. The table says which column that is.
    let column = said.lines().find_map(|line| {
        let head = line.strip_prefix("byte,").map(|_| line)?;
        head.split(", ").position(|name| name == "note")
    });
    let note = now.iter().find(|(name, _)| name == "single 64").map(|(_, numbers)| numbers);
    let note = note.zip(column).and_then(|(numbers, column)| numbers.get(column));
    assert!(*note.expect("a note's cost") < 40_000, "{note:?}");
    for ((name, before), (also, now)) in before.iter().zip(&now) {
        assert_eq!((name, before.len()), (also, now.len()));
        for (before, now) in before.iter().zip(now) {
            assert!(now * 5 <= before * 6 && before * 5 <= now * 6, "{name}: {before}, now {now}");
        }
    }
}
