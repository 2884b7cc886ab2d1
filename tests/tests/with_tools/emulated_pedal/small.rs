//! A judge in little RAM on the emulated board: what it says, what sessions take by their capacities,
//! and that code for a second size is not there twice.

use super::sizes::compare;
use std::collections::BTreeMap;
use std::path::Path;
use xtask::{elf, embedded, emulator, places};

/// What RAM a judge in little RAM has for its session.
const LITTLE: u64 = 8 * 1024;

/// What a second size of sessions may add to an image, its callers included: what takes a session
/// apart, and what calls that. Our goal.
const SECOND_SIZE: u64 = 1_024;

/// What it says of two attempts that are written down in the image. EVENHAND_BLESS=1 writes it anew.
pub(crate) fn a_judge_in_little_ram_says_what_it_did() {
    let image = embedded::smallest_image(embedded::SMALL).unwrap_or_else(|stop| panic!("{stop}"));
    let ran = emulator::run(&image, emulator::PATIENCE).expect("the emulator runs");
    assert!(ran.success, "{}", ran.complaint);
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/small-session.txt");
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::write(&kept, &ran.transcript).expect("the folder can be written");
    }
    let expected = std::fs::read(&kept).expect("it is kept");
    emulator::compare(&expected, &ran.transcript)
        .unwrap_or_else(|difference| panic!("{difference}"));

    println!("{}", ran.figures);
    let [session, others, stack] = ram(&ran.figures).expect("the RAM is told");
    assert!(0 < session && session <= LITTLE, "{session} bytes");
    let name = "a judge of 16 notes, RAM of its session and all with the stack, Cortex-M0+";
    compare(BTreeMap::from([(name.to_owned(), vec![session, session + others + stack])]));

    let sizes = sizes(&ran.figures);
    assert_eq!(sizes.len(), 5);
    let read = |file: &str| std::fs::read_to_string(places::root().join(file)).expect(file);
    let faults = faults(&sizes, &read("core/src/session/mod.rs"), &read("core/src/lib.rs"));
    assert_eq!(faults, Vec::<String>::new());
}

/// `RAM: 1 for the session, 2 other, 3 of stack`.
fn ram(figures: &str) -> Option<[u64; 3]> {
    let line = figures.lines().find_map(|line| line.strip_prefix("RAM: "))?;
    let mut numbers = line.split(' ').filter_map(|word| word.parse().ok());
    Some([numbers.next()?, numbers.next()?, numbers.next()?])
}

/// `Session<16, 64>: 4000`, by line: expected notes, played notes, bytes.
fn sizes(figures: &str) -> Vec<[u64; 3]> {
    let lines = figures.lines().filter_map(|line| line.strip_prefix("Session<"));
    lines
        .map(|line| {
            let mut numbers = line.split([',', ' ', '>', ':']).filter_map(|word| word.parse().ok());
            [(); 3].map(|()| numbers.next().expect("three numbers"))
        })
        .collect()
}

/// 30,808.
fn grouped(number: u64) -> String {
    match number / 1_000 {
        0 => number.to_string(),
        thousands => format!("{thousands},{:03}", number % 1_000),
    }
}

/// What the documentation says that is not so.
fn faults(sizes: &[[u64; 3]], of_session: &str, of_core: &str) -> Vec<String> {
    let mut rows: Vec<(&str, String)> = sizes
        .iter()
        .map(|[expected, played, bytes]| {
            (of_session, format!("/// | `Session<{expected}, {played}>` | {} |", grouped(*bytes)))
        })
        .collect();
    if let [.., [_, _, smaller], [256, 512, full]] = sizes {
        // The last two differ in 128 expected notes.
        let a_note = (full - smaller) / 128;
        rows.push((of_core, format!("//! | a [`session::Session`] | {} |", grouped(*full))));
        let expected = "of that, for each expected note that it has room for";
        rows.push((of_core, format!("//! | {expected} | {a_note} |")));
        if let [[16, 64, first], [32, 128, second], ..] = sizes {
            let played = "of that, for each played note that it has room for";
            let a_note = (second - first - 16 * a_note) / 64;
            rows.push((of_core, format!("//! | {played} | {a_note} |")));
        }
    }
    let lacks = |(documents, row): &(&str, String)| !documents.lines().any(|line| line == row);
    rows.into_iter().filter(lacks).map(|(_, row)| row).collect()
}

pub(crate) fn a_size_that_is_not_so_is_found() {
    let sizes = [[16, 64, 4_000], [32, 128, 6_000], [128, 512, 20_000], [256, 512, 30_240]];
    let of_session = "/// | `Session<16, 64>` | 4,000 |\n/// | `Session<32, 128>` | 6,000 |\n\
                      /// | `Session<128, 512>` | 20,000 |\n/// | `Session<256, 512>` | 30,240 |\n";
    let of_core = "//! | a [`session::Session`] | 30,240 |\n\
                   //! | of that, for each expected note that it has room for | 80 |\n\
                   //! | of that, for each played note that it has room for | 11 |\n";
    assert_eq!(faults(&sizes, of_session, of_core), Vec::<String>::new());
    assert_eq!(faults(&sizes, "", of_core).len(), 4);
    assert_eq!(faults(&sizes, of_session, "").len(), 3);
    assert_eq!(faults(&sizes, &of_session.replace("6,000", "6,001"), of_core).len(), 1);
    assert_eq!(ram("RAM: 1 for the session, 2 other, 3 of stack\n"), Some([1, 2, 3]));
}

pub(crate) fn code_for_a_second_size_is_not_there_twice() {
    let [one, two] = embedded::SESSIONS.map(|name| {
        let image = embedded::smallest_image(name).unwrap_or_else(|stop| panic!("{stop}"));
        let file = std::fs::read(&image).unwrap_or_else(|error| {
            panic!("{}: {error}: run `cargo xtask test`", image.display());
        });
        elf::footprint(&file).unwrap_or_else(|error| panic!("{}: {error}", image.display())).flash
    });
    println!("two sessions of one size: {one} bytes of flash, of two sizes: {two}");
    assert!(one < two && two - one <= SECOND_SIZE, "{one} and {two} bytes");
    let name = "two sessions, flash with one size and with two, Cortex-M0+";
    compare(BTreeMap::from([(name.to_owned(), vec![one, two])]));
}
