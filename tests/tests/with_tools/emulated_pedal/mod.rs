//! The pedal: on the emulated board, and the same code on this computer.

pub(crate) mod in_ram;
pub(crate) mod parity;
pub(crate) mod power;
pub(crate) mod share;
mod shipped;
pub(crate) mod sizes;
pub(crate) mod small;
mod table;

use evenhand_core::pack::Pack;
use evenhand_core::practice::Engine;
use evenhand_core::session::Session;
use evenhand_core::units::Instant;
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::log_board::LogBoard;
use evenhand_pedal::memory::{Identity, Memory};
use evenhand_pedal::pedal::PIECES;
use evenhand_pedal::ram_flash::RamFlash;
use evenhand_pedal::simulated_player::SimulatedPlayer;
use evenhand_pedal::study::BUILT_IN;
use evenhand_pedal::study::session_config;
use evenhand_pedal::{Pedal, Unit};
use std::path::{Path, PathBuf};
use std::time::Duration;
use xtask::{embedded, emulator, places};

/// The image of the emulated pedal, which is built by `cargo xtask test` before it runs the tests.
fn image() -> PathBuf {
    image_for(embedded::EMULATED)
}

fn image_for(target: &str) -> PathBuf {
    let image = embedded::image(target).unwrap_or_else(|stop| panic!("{stop}"));
    assert!(image.is_file(), "{} has not been built: run `cargo xtask test`", image.display());
    image
}

fn run(image: &Path, table: &[u8], patience: Duration) -> emulator::Ran {
    emulator::run_table(image, table, patience).unwrap_or_else(|stop| panic!("{stop}"))
}

fn expected() -> Vec<u8> {
    let path = places::expected_practice();
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

pub(crate) fn a_practice_on_the_emulated_board_is_as_expected() {
    practised_as_expected(embedded::EMULATED);
}

/// A Cortex-M4 runs everything that is compiled for the smallest processor, too.
pub(crate) fn so_is_one_that_was_built_for_the_smallest_processor() {
    practised_as_expected(embedded::SMALLEST);
}

fn practised_as_expected(target: &str) {
    let ran = emulator::run(&image_for(target), emulator::PATIENCE).expect("the emulator runs");
    if let Err(difference) = emulator::compare(&expected(), &ran.transcript) {
        panic!("{target}: the practice has changed\n{difference}\n{}", ran.complaint);
    }
    assert!(ran.success, "{target}: ended with failure\n{}", ran.complaint);
}

/// EVENHAND_BLESS=1 writes what this computer says; the emulated board has to say the same.
pub(crate) fn so_is_one_on_this_computer() {
    let contacts = Contacts::new();
    let mut practice: Engine<PIECES> = Engine::new();
    let mut bytes = vec![0xff; 128 * 4_096];
    let identity = Identity { board: "none", device: 1, chance: 1 };
    let memory = Memory::open(RamFlash::new(&mut bytes), 64, identity);
    let mut session = Box::new(Session::idle());
    let pedal = Pedal::new(&mut practice, &mut session, session_config(), &memory, Instant::ZERO);
    let mut unit = Unit::new(pedal, contacts.panel(), memory);
    let log_board = LogBoard::new(&contacts, String::new());
    let mut player =
        Box::new(SimulatedPlayer::new(Pack::open(BUILT_IN).unwrap(), log_board, &contacts));
    while unit.turn(&mut *player) {}
    let said = player.board().out().clone();
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::write(places::expected_practice(), &said).expect("the file can be written");
    }
    if let Err(difference) = emulator::compare(&expected(), said.as_bytes()) {
        panic!("the practice on this computer has changed\n{difference}");
    }
}
