//! How much of a board's image is core and pedal, and how much is the board's own: its USB, its
//! drivers and the executor that they run in.

use xtask::elf::{self, Named};

/// Crates whose names tell where something comes from. Generic code has the name of the crate that
/// asked for it at the end, so the first in a name counts.
const OURS: [&str; 2] = ["evenhand_core", "evenhand_pedal"];
const THE_BOARDS: [&str; 5] = ["evenhand_pico", "embassy_", "rp_pac", "portable_atomic", "_IRQ"];

/// The pedal's statics are declared in a board's main file.
const STATICS: [&str; 2] = ["7SESSION", "6ENGINE"];

/// What core and pedal take, in bytes.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Share {
    /// All of the flash that is not the board's: also what libraries and unnamed constants take.
    pub(crate) flash: u64,
    /// Session, notes and practice. The rest of a pedal stands on the stack.
    pub(crate) statics: u64,
}

fn is_the_boards(named: &Named) -> bool {
    let first = |crates: &[&str]| crates.iter().filter_map(|name| named.name.find(name)).min();
    match (first(&THE_BOARDS), first(&OURS)) {
        (Some(board), Some(ours)) => board < ours,
        (board, _) => board.is_some(),
    }
}

/// The share of core and pedal in an image.
pub(crate) fn of(file: &[u8]) -> Result<Share, elf::NotAnImage> {
    let flash = elf::footprint(file)?.flash;
    let named = elf::named(file)?;
    let (variables, constants): (Vec<Named>, Vec<Named>) =
        named.into_iter().partition(|named| named.is_variable);
    let boards: u64 = constants.iter().filter(|one| is_the_boards(one)).map(|one| one.size).sum();
    let is_static = |one: &&Named| STATICS.iter().any(|name| one.name.ends_with(name));
    for name in STATICS {
        assert!(variables.iter().any(|one| one.name.ends_with(name)), "there is no {name}");
    }
    let statics = variables.iter().filter(is_static).map(|one| one.size).sum();
    Ok(Share { flash: flash.saturating_sub(boards), statics })
}

pub(crate) fn the_first_crate_in_a_name_owns_it() {
    let named = |name: &str| Named { name: name.to_owned(), size: 1, is_variable: false };
    for (name, boards) in [
        (
            "_RNvMs_NtCs1_14evenhand_pedal4unit4UnitNtNtCs2_10embassy_rp4gpio5InputCs3_13evenhand_pico",
            false,
        ),
        ("_RNvNtCs1_16embassy_executor3raw11TaskStorageNtCs3_13evenhand_pico4link", true),
        ("_RNvCs3_13evenhand_pico8power_on", true),
        ("UART0_IRQ", true),
        ("_RNvNtNtCs9_4core5slice4sort", false),
        ("memcpy", false),
    ] {
        assert_eq!(is_the_boards(&named(name)), boards, "{name}");
    }
}
