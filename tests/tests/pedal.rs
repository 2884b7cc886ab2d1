//! The pedal: on the emulated board, and the same code on this computer.

use evenhand_core::next_step::Practice;
use evenhand_core::session::Session;
use evenhand_core::units::Instant;
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::desk::{Desk, NO_NOTES};
use evenhand_pedal::diary::Diary;
use evenhand_pedal::floor::turn;
use evenhand_pedal::performer::Performer;
use evenhand_pedal::study::BuiltIn;
use evenhand_pedal::{Pedal, built_in};
use xtask::{embedded, emulator, places};

fn expected() -> Vec<u8> {
    let path = places::expected_practice();
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn desk() -> Desk {
    Desk::new(Box::leak(Box::new(Session::idle())), Box::leak(Box::new(NO_NOTES)))
}

#[test]
fn a_whole_practice_on_the_emulated_board_is_as_expected() {
    let image = embedded::pedal_image().unwrap_or_else(|stop| panic!("{stop}"));
    assert!(image.is_file(), "{} has not been built: run `cargo xtask test`", image.display());
    let ran = emulator::run(&image, emulator::PATIENCE).expect("the emulator runs");
    if let Err(difference) = emulator::compare(&expected(), &ran.transcript) {
        panic!("the practice on the emulated board has changed\n{difference}\n{}", ran.complaint);
    }
    assert!(ran.success, "ended with failure\n{}", ran.complaint);
}

/// EVENHAND_BLESS=1 writes what this computer says; the emulated board has to say the same.
#[test]
fn so_is_one_on_this_computer() {
    let contacts = Contacts::new();
    let mut practice: Practice<20> = Practice::new();
    let (study, mut now) = (BuiltIn::new(), Instant::ZERO);
    let mut pedal = Pedal::new(study, &mut practice, desk(), built_in::hearing(), now);
    let mut panel = contacts.panel();
    let diary = Diary::new(String::new());
    let mut performer = Box::new(Performer::new(study, diary, &contacts));
    while turn(&mut pedal, &mut panel, &mut *performer, &mut now) {
        performer.room().look(now, pedal.view().0, contacts.row());
    }
    let said = performer.room().out().clone();
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::write(places::expected_practice(), &said).expect("the file can be written");
    }
    if let Err(difference) = emulator::compare(&expected(), said.as_bytes()) {
        panic!("the practice on this computer has changed\n{difference}");
    }
}
