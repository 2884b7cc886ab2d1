//! What the pedal takes: flash and RAM of its images, and its stack on the emulated board, as a
//! table: `golden/pedal-size.txt`.
//!
//! Another version of the compiler makes other code, so each number may differ by a fifth; and none
//! may go over its limit. EVENHAND_BLESS=1 writes the table anew; say in the commit what made it
//! better or worse. `cargo xtask test` builds all the images before it runs the tests.

use crate::emulated_pedal::share;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use xtask::pedal::With;
use xtask::{elf, emulator, pedal};

/// The limits, in bytes. The program has the first megabyte of a board's flash, see the memory files
/// of `firmware-example/boards/pico`; the RAM is that of the smaller board less 64 KiB, which is
/// what the stack may take. Our defaults.
const MOST_FLASH: u64 = 384 * 1024;
const MOST_RAM: u64 = 200 * 1024;
const MOST_STACK: u64 = 32 * 1024;

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

/// Flash and RAM of an image, if they are within the limits.
fn judged(file: &[u8]) -> Result<Vec<u64>, String> {
    let elf::Footprint { flash, ram } = elf::footprint(file).map_err(|error| error.to_string())?;
    match () {
        () if flash > MOST_FLASH => Err(format!("{flash} bytes of flash")),
        () if ram > MOST_RAM => Err(format!("{ram} bytes of RAM")),
        () => Ok(vec![flash, ram]),
    }
}

/// Flash and RAM of an image.
fn image(path: &Path) -> Vec<u64> {
    let file = std::fs::read(path).unwrap_or_else(|error| {
        panic!("{}: {error}: run `cargo xtask test`", path.display());
    });
    judged(&file).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Whether two numbers are a fifth apart at most, and which are not.
fn near(
    before: &BTreeMap<String, Vec<u64>>,
    now: &BTreeMap<String, Vec<u64>>,
) -> Result<(), String> {
    for (name, now) in now {
        let before = before.get(name).ok_or_else(|| format!("{name} is not in the table"))?;
        let fits = |(before, now): (&u64, &u64)| now * 5 <= before * 6 && before * 5 <= now * 6;
        if before.len() != now.len() || !before.iter().zip(now).all(fits) {
            return Err(format!("{name}: {before:?}, now {now:?}"));
        }
    }
    Ok(())
}

/// Compares with the table. Rows that were not measured now stay as they are.
pub(super) fn compare(now: BTreeMap<String, Vec<u64>>) {
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
    if let Err(difference) = near(&before, &now) {
        panic!("{difference}");
    }
}

pub(crate) fn images_are_as_large_as_they_were() {
    let mut now = BTreeMap::new();
    let emulated = "emulated pedal with its player, flash and RAM, Cortex-M4".to_owned();
    now.insert(emulated, image(&crate::emulated_pedal::image()));
    let (board, with) = pedal::BUILT;
    now.insert(format!("pedal, flash and RAM, {}", board.name), image(&board.image(with)));
    compare(now);
}

pub(crate) fn a_table_that_is_a_quarter_off_or_lacks_a_row_is_refused() {
    let table = |flash: u64, ram: u64| rows(&format!("a: 7\nb: {flash}, {ram}\n"));
    let before = table(1_000, 400);
    assert_eq!(near(&before, &table(1_100, 360)), Ok(()));
    for (flash, ram) in [(1_250, 400), (750, 400), (1_000, 500), (1_000, 300)] {
        let told = near(&before, &table(flash, ram)).expect_err("it is a quarter off");
        assert_eq!(told, format!("b: [1000, 400], now [{flash}, {ram}]"));
    }
    assert_eq!(near(&rows("a: 7\n"), &before), Err("b is not in the table".to_owned()));
}

pub(crate) fn an_image_over_a_limit_is_refused() {
    /// An image of one section: loaded, and of so many bytes.
    fn of(flags: u32, size: u64) -> Vec<u8> {
        // Between the section that every table begins with, which is none, and that of the names.
        let mut file = vec![0; 52 + 3 * 40];
        file[..7].copy_from_slice(b"\x7fELF\x01\x01\x01");
        file[32] = 52;
        (file[46], file[48], file[50]) = (40, 3, 2);
        file[52 + 2 * 40 + 4] = 3;
        let section = &mut file[52 + 40..];
        section[4] = 1;
        section[8..][..4].copy_from_slice(&flags.to_le_bytes());
        section[20..][..4].copy_from_slice(&(size as u32).to_le_bytes());
        file
    }
    const ALLOC: u32 = 2;
    const WRITE: u32 = 1;
    assert_eq!(judged(&of(ALLOC, MOST_FLASH)), Ok(vec![MOST_FLASH, 0]));
    assert_eq!(judged(&of(ALLOC, MOST_FLASH + 1)), Err("393217 bytes of flash".to_owned()));
    assert_eq!(judged(&of(ALLOC | WRITE, MOST_RAM + 1)), Err("204801 bytes of RAM".to_owned()));
}

/// The deepest stack of the emulated pedal, without what the script that it runs by has below it:
/// all of a pedal's RAM but session, notes and practice.
fn deepest_stack() -> u64 {
    // A practice with a verdict, a result that is written, and a new start.
    let mut table = crate::emulated_pedal::table::Table::default();
    crate::emulated_pedal::power::practise(&mut table, 1);
    table.restart();
    let ran = crate::emulated_pedal::run(
        &crate::emulated_pedal::image(),
        &table.bytes(),
        emulator::PATIENCE,
    );
    assert!(ran.success, "{}", ran.complaint);
    let said = ran.figures.lines().find_map(|line| line.strip_prefix("stack: "));
    let said = said.and_then(|rest| rest.strip_suffix(" of them the script's")).expect("figures");
    let (all, script) = said.split_once(" bytes, ").expect("two figures");
    let [all, script] = [all, script].map(|figure| figure.parse::<u64>().expect("a number"));
    assert!(0 < script && script < all, "{said}");
    all - script
}

pub(crate) fn the_stack_is_as_deep_as_it_was() {
    let stack = deepest_stack();
    assert!(stack <= MOST_STACK, "{stack} bytes of stack");
    compare(BTreeMap::from([("pedal, deepest stack, Cortex-M4".to_owned(), vec![stack])]));
}

/// Core and pedal at full capacity, without what a board brings: 176 KiB of flash, and 64 KiB of
/// RAM with the stack. Our goals; it was 128 KiB of flash before landings, few onsets and single
/// levels were judged, 136 before explanations of the onsets were compared, and 140 before it was weighed
/// how the pickup errs, learnt how late its strings come, and an attempt could be taken back; and 160 before
/// practice found the hard place of a piece, and what was misread.
pub(crate) fn core_and_pedal_are_as_small_as_they_should_be() {
    let (board, with) = pedal::BUILT;
    assert_eq!((board.name, with), ("rp2040", With::NOTHING));
    let file = std::fs::read(board.image(with)).expect("`cargo xtask test` builds it");
    let share = share::of(&file).expect("an image");
    let ram = share.statics + deepest_stack();
    println!("core and pedal: {} bytes of flash, {ram} of RAM with the stack", share.flash);
    assert!(share.flash <= 176 * 1024, "{} bytes of flash", share.flash);
    assert!(share.statics > 0 && ram <= 64 * 1024, "{ram} bytes of RAM");
    let name = "core and pedal without the board, flash and RAM with the stack, rp2040";
    compare(BTreeMap::from([(name.to_owned(), vec![share.flash, ram])]));
}
