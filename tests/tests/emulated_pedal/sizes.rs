//! What the pedal takes: flash and RAM of its images, and its stack on the emulated board, as a
//! table: `golden/pedal-size.txt`.
//!
//! Another version of the compiler makes other code, so each number may differ by a fifth; and none
//! may go over its limit. EVENHAND_BLESS=1 writes the table anew; say in the commit what made it
//! better or worse. The boards' images are looked at where they have been built
//! (`cargo xtask pedal build`), the emulated one always.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use xtask::{elf, emulator, pedal};

/// The limits, in bytes. The program has the first megabyte of a board's flash, see the memory files
/// of `firmware-example/boards/pico`; the RAM is that of the smaller board less 64 KiB, which is
/// what the stack may take. Our defaults.
const MOST_FLASH: u64 = 384 * 1024;
const MOST_RAM: u64 = 200 * 1024;
const MOST_STACK: u64 = 64 * 1024;

fn kept() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/pedal-size.txt")
}

/// The rows of a table: `name: number, number`.
fn rows(table: &str) -> BTreeMap<String, Vec<u64>> {
    let rows = table.lines().filter_map(|line| line.split_once(": "));
    rows.map(|(name, numbers)| {
        let numbers = numbers.split(", ").map(|number| number.parse().expect("a number"));
        (name.to_owned(), numbers.collect())
    })
    .collect()
}

/// Flash and RAM of an image.
fn image(path: &Path) -> Vec<u64> {
    let file = std::fs::read(path).unwrap_or_else(|error| {
        panic!("{}: {error}: run `cargo xtask test`", path.display());
    });
    let elf::Footprint { flash, ram } = elf::footprint(&file).expect("an image");
    assert!(flash <= MOST_FLASH, "{}: {flash} bytes of flash", path.display());
    assert!(ram <= MOST_RAM, "{}: {ram} bytes of RAM", path.display());
    vec![flash, ram]
}

/// Compares with the table. Rows that were not measured now stay as they are.
fn compare(now: BTreeMap<String, Vec<u64>>) {
    let mut before = rows(&std::fs::read_to_string(kept()).unwrap_or_default());
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        before.extend(now);
        let line = |(name, numbers): (&String, &Vec<u64>)| {
            let numbers: Vec<String> = numbers.iter().map(u64::to_string).collect();
            format!("{name}: {}\n", numbers.join(", "))
        };
        let table: String = before.iter().map(line).collect();
        std::fs::write(kept(), table).expect("the folder can be written");
        return;
    }
    for (name, now) in now {
        let before = before.get(&name).unwrap_or_else(|| panic!("{name} is not in the table"));
        assert_eq!(before.len(), now.len(), "{name}");
        for (before, now) in before.iter().zip(&now) {
            assert!(now * 5 <= before * 6 && before * 5 <= now * 6, "{name}: {before}, now {now}");
        }
    }
}

#[test]
fn images_are_as_large_as_they_were() {
    let mut now = BTreeMap::new();
    let emulated = "emulated pedal with its player, flash and RAM, Cortex-M4".to_owned();
    now.insert(emulated, image(&crate::image()));
    for board in pedal::BOARDS {
        let path = board.image().expect("a way to build");
        if path.is_file() {
            now.insert(format!("pedal, flash and RAM, {}", board.name), image(&path));
        }
    }
    compare(now);
}

#[test]
fn the_stack_is_as_deep_as_it_was() {
    // A practice with a verdict, a result that is written, and a new start.
    let mut table = crate::table::Table::default();
    crate::power::practise(&mut table, 1);
    table.restart();
    let ran = crate::run(&crate::image(), &table.bytes(), emulator::PATIENCE);
    assert!(ran.success, "{}", ran.complaint);
    let stack = ran.figures.lines().find_map(|line| line.strip_prefix("stack: "));
    let stack = stack.and_then(|rest| rest.strip_suffix(" bytes")).expect("a figure");
    let stack: u64 = stack.parse().expect("a number");
    assert!(stack <= MOST_STACK, "{stack} bytes of stack");
    compare(BTreeMap::from([("pedal, deepest stack, Cortex-M4".to_owned(), vec![stack])]));
}
