//! The firmware on the emulated board, and the same code on this computer: both have to say
//! what `firmware-example/expected-output.txt` says, to the byte.
//!
//! The images are built by `cargo xtask test` before it runs the tests.

use std::path::PathBuf;

use evenhand_core::session::Session;
use evenhand_pedal::script::Script;
use evenhand_pedal::{built_in, practise};
use xtask::{embedded, emulator, places};

fn expected() -> Vec<u8> {
    let path = places::expected_output();
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The image for `target`, or the reason why there is none.
fn image(target: &str) -> PathBuf {
    assert!(emulator::available(), "the emulator is missing: run `cargo xtask test`");
    let image = embedded::image(target)
        .unwrap_or_else(|stop| panic!("no image for {target}: run `cargo xtask test`\n{stop}"));
    assert!(image.is_file(), "{} has not been built: run `cargo xtask test`", image.display());
    image
}

fn check(target: &str) {
    let ran = emulator::run(&image(target), emulator::PATIENCE).expect("the emulator runs");
    println!("{target}\n{}", ran.figures);
    if let Err(difference) = emulator::compare(&expected(), &ran.transcript) {
        panic!(
            "{target}: the emulated board's output has changed\n{difference}\n{}",
            ran.complaint
        );
    }
    assert!(ran.success, "{target}: ended with failure\n{}", ran.complaint);
}

#[test]
fn the_emulated_board_says_what_is_expected() {
    check(embedded::EMULATED);
}

/// A Cortex-M4 runs everything that is compiled for the smallest processor.
#[test]
fn so_does_the_code_for_the_smallest_processor() {
    check(embedded::SMALLEST);
}

#[test]
fn so_does_this_computer() {
    let chunk = built_in::chunk().expect("the built-in chunk is in order");
    let mut session = Box::new(Session::new(chunk, built_in::hearing()));
    let mut said = String::new();
    practise(&mut session, &mut Script::new(&built_in::BYTES), &mut said)
        .expect("a String takes all");
    if let Err(difference) = emulator::compare(&expected(), said.as_bytes()) {
        panic!("the output of this computer differs\n{difference}");
    }
}
