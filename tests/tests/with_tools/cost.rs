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

fn core_docs() -> PathBuf {
    xtask::places::root().join("core/src/lib.rs")
}

/// The numbers in a row of the table in the core's documentation: `1,300` or `1.4 million`.
fn documented(documents: &str, row: &str) -> Vec<f64> {
    let start = format!("//! | {row} |");
    let line = documents.lines().find_map(|line| line.strip_prefix(&start)).unwrap_or_default();
    let number = |cell: &str| {
        let cell = cell.trim().replace(',', "");
        let (digits, factor) = match cell.strip_suffix(" million") {
            Some(digits) => (digits.to_owned(), 1e6),
            None => (cell, 1.0),
        };
        digits.parse::<f64>().ok().map(|number| number * factor)
    };
    line.split('|').filter_map(number).collect()
}

/// What the documentation promises against what was counted: at least that, and no more than a
/// quarter beyond, or it would promise nothing.
fn promises(documents: &str, rows: &[(String, Vec<u64>)], said: &str) -> Vec<String> {
    let counted = |name: &str, column: usize| {
        let row = rows.iter().find(|row| row.0 == name);
        row.and_then(|row| row.1.get(column)).copied().unwrap_or(0)
    };
    let both = |notes: u32, column: usize| {
        counted(&format!("single {notes}"), column)
            .max(counted(&format!("chords of four {notes}"), column))
    };
    let said = |start: &str, end: &str| -> Vec<u64> {
        let rest = said.lines().find_map(|line| line.split_once(start)).map(|line| line.1);
        let number = rest.and_then(|rest| rest.split_once(end)).map(|rest| rest.0);
        vec![number.and_then(|number| number.parse().ok()).unwrap_or(0)]
    };
    let sizes = [16, 64, 256];
    let expected = [
        ("a byte that begins no note", sizes.map(|notes| both(notes, 0)).to_vec()),
        (
            "the last byte of a note, single notes expected",
            sizes.map(|notes| counted(&format!("single {notes}"), 1)).to_vec(),
        ),
        (
            "the same, chords of four expected",
            sizes.map(|notes| counted(&format!("chords of four {notes}"), 1)).to_vec(),
        ),
        ("a verdict", sizes.map(|notes| both(notes, 4).max(both(notes, 5))).to_vec()),
        ("a [`session::Session`]", said("session: ", " bytes")),
        ("stack to judge", said("to hear, ", " to judge")),
    ];
    let mut faults = Vec::new();
    for (row, counted) in expected {
        let documented = documented(documents, row);
        let holds = |(promised, counted): (&f64, &u64)| {
            let counted = *counted as f64;
            counted > 0.0 && *promised >= counted && *promised <= counted * 1.25
        };
        if documented.len() != counted.len() || !documented.iter().zip(&counted).all(holds) {
            faults.push(format!("`{row}` says {documented:?}, counted were {counted:?}"));
        }
    }
    faults
}

pub(crate) fn a_promise_that_does_not_hold_is_found() {
    let rows = |verdict| {
        let row = |name: &str| (name.to_owned(), vec![100, 200, 0, 0, verdict, 90]);
        let names = [16, 64, 256].map(|notes| {
            [row(&format!("single {notes}")), row(&format!("chords of four {notes}"))]
        });
        names.into_iter().flatten().collect::<Vec<_>>()
    };
    let said = "session: 1000 bytes\nstack: 1 to begin, 2 to hear, 800 to judge, bytes";
    let documents = "//! | a byte that begins no note | 110 | 110 | 110 |\n\
                     //! | the last byte of a note, single notes expected | 210 | 210 | 210 |\n\
                     //! | the same, chords of four expected | 210 | 210 | 210 |\n\
                     //! | a verdict | 1.1 million | 1.1 million | 1.1 million |\n\
                     //! | a [`session::Session`] | 1,000 |\n\
                     //! | stack to judge | 900 |\n";
    assert_eq!(promises(documents, &rows(1_000_000), said), Vec::<String>::new());
    assert_eq!(promises(documents, &rows(1_200_000), said).len(), 1, "too much");
    assert_eq!(promises(documents, &rows(500_000), said).len(), 1, "a promise too large");
    assert_eq!(promises(documents, &rows(1_000_000), "").len(), 2, "nothing was counted");
    assert_eq!(promises("", &rows(1_000_000), said).len(), 6, "nothing is documented");
}

pub(crate) fn judging_costs_what_it_did() {
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
    let documents = std::fs::read_to_string(core_docs()).expect("the core has documentation");
    let faults = promises(&documents, &now, &said);
    assert!(faults.is_empty(), "core/src/lib.rs: {}", faults.join("; "));
    for ((name, before), (also, now)) in before.iter().zip(&now) {
        assert_eq!((name, before.len()), (also, now.len()));
        for (before, now) in before.iter().zip(now) {
            assert!(now * 5 <= before * 6 && before * 5 <= now * 6, "{name}: {before}, now {now}");
        }
    }
}
