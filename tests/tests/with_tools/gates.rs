//! Every gate of `cargo xtask test` is shown to close.
//!
//! The import order has its own in `layering.rs`.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use xtask::process::Stop;
use xtask::{embedded, emulator, places};

/// A folder of its own for each test, inside the one that cargo gives to tests.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("an old folder can be removed");
    }
    fs::create_dir_all(&folder).expect("a folder can be made");
    folder
}

pub(crate) fn a_changed_line_of_the_emulated_board_is_named() {
    let path = places::expected_practice();
    let expected = fs::read(&path).expect("the expected output is there");
    assert_eq!(emulator::compare(&expected, &expected), Ok(()));

    let text = String::from_utf8(expected.clone()).expect("the expected output is text");
    let changed = text.replacen("passed", "Passed", 1);
    assert_ne!(changed, text, "the expected output has a pass in it");
    let line = text.lines().position(|line| line.contains("passed")).expect("a line") + 1;
    let difference = emulator::compare(&expected, changed.as_bytes()).expect_err("it differs");
    assert!(difference.to_string().starts_with(&format!("line {line} ")), "{difference}");
}

pub(crate) fn a_missing_end_and_a_different_line_end_are_differences() {
    assert!(emulator::compare(b"one\ntwo\n", b"one\n").is_err());
    assert!(emulator::compare(b"one\n", b"one\ntwo\n").is_err());
    assert!(emulator::compare(b"one\n", b"one").is_err());
    assert!(emulator::compare(b"one\r\n", b"one\n").is_err());
    assert!(emulator::compare(b"", b"one\n").is_err());
}

/// The body of an image that only links, on any Cortex-M.
const IMAGE: &str = "#![no_std]\n#![no_main]\n\
    #[panic_handler]\nfn panic(_: &core::panic::PanicInfo<'_>) -> ! { loop {} }\n\
    #[unsafe(no_mangle)]\npub extern \"C\" fn _start() -> ! { USED }\n";

/// Builds an image in which `code` runs, as the firmware is built, and gives what was printed.
fn build(name: &str, head: &str, code: &str) -> Result<(), String> {
    let folder = folder(name);
    // The firmware's profile, so that the core library is not built again for this.
    let manifest = format!(
        "[package]\nname = \"{name}\"\nversion = \"0.0.0\"\nedition = \"2024\"\n[workspace]\n\
         [profile.release]\nopt-level = \"s\"\ndebug = 2\nlto = \"fat\"\ncodegen-units = 1\n"
    );
    fs::write(folder.join("Cargo.toml"), manifest).expect("a file can be written");
    fs::create_dir(folder.join("src")).expect("a folder can be made");
    let (attributes, rest) = IMAGE.split_at(IMAGE.find("#[panic").expect("it is there"));
    let source = format!("{attributes}{head}\n{}", rest.replace("USED", code));
    fs::write(folder.join("src/main.rs"), source).expect("a file can be written");

    let way = embedded::find(embedded::SMALLEST)
        .unwrap_or_else(|stop| panic!("run `cargo xtask test`\n{stop}"));
    let mut build = way.build(embedded::SMALLEST, &folder);
    let output = build.output().expect("the compiler that was found runs");
    if output.status.success() {
        Ok(())
    } else {
        Err(String::from_utf8_lossy(&output.stderr).into())
    }
}

pub(crate) fn an_image_that_allocates_is_not_built() {
    build("gate-plain", "", "loop {}").expect("without an allocation it is built");
    let printed = build("gate-alloc", "extern crate alloc;", "loop {}").expect_err("it allocates");
    // Where the core library is built from source there is no `alloc`; else there is no allocator.
    let reasons = ["can't find crate for `alloc`", "no global memory allocator found"];
    assert!(reasons.iter().any(|reason| printed.contains(reason)), "{printed}");
}

pub(crate) fn an_image_that_wants_an_operating_system_is_not_built() {
    let printed = build("gate-std", "extern crate std;", "loop {}").expect_err("it wants std");
    assert!(printed.contains("can't find crate for `std`"), "{printed}");
}

pub(crate) fn an_image_that_never_ends_is_stopped_and_called_a_failure() {
    // No vectors, so the emulated processor goes astray at once and stays there.
    let image = folder("gate-stuck").join("image");
    build("gate-loop", "", "loop {}").expect("it is built");
    let way = embedded::find(embedded::SMALLEST).expect("it has just built");
    fs::copy(way.image(embedded::SMALLEST, "gate-loop"), &image).expect("a file can be copied");
    let ran = emulator::run(&image, Duration::from_secs(2));
    let ran = ran.unwrap_or_else(|stop| panic!("run `cargo xtask test`\n{stop}"));
    assert!(!ran.success);
    assert!(!ran.complaint.is_empty());
}

/// What clippy says of a function in a package that promises this compiler, with the lints that our
/// packages have in common.
fn linted(name: &str, promised: &str) -> Result<(), String> {
    let folder = folder(name);
    let house = fs::read_to_string(places::root().join("Cargo.toml")).expect("it is there");
    let lint = house.lines().find(|line| line.starts_with("incompatible_msrv"));
    let manifest = format!(
        "[package]\nname = \"{name}\"\nversion = \"0.0.0\"\nedition = \"2021\"\n\
         rust-version = \"{promised}\"\n[workspace]\n[lints.clippy]\n{}\n",
        lint.unwrap_or_default()
    );
    fs::write(folder.join("Cargo.toml"), manifest).expect("a file can be written");
    fs::create_dir(folder.join("src")).expect("a folder can be made");
    let source = "//! A test.\n\n/// In the standard library since Rust 1.70.\n\
                  pub fn is_one(value: Option<u8>) -> bool {\n    value.is_some_and(|one| one == 1)\n}\n";
    fs::write(folder.join("src/lib.rs"), source).expect("a file can be written");
    let mut clippy = evenhand_tests::program::cargo();
    clippy.current_dir(&folder).args(["clippy", "--quiet", "--target-dir"]);
    let output = clippy.arg(folder.join("target")).output().expect("cargo can be started");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    if output.status.success() { Ok(()) } else { Err(said) }
}

pub(crate) fn what_is_newer_than_the_promised_compiler_is_refused() {
    assert_eq!(linted("gate-old-enough", "1.70"), Ok(()));
    let said = linted("gate-too-new", "1.69").expect_err("that compiler does not know it");
    assert!(said.contains("clippy::incompatible_msrv") || said.contains("current MSRV"), "{said}");
    let core = fs::read_to_string(places::root().join("core/Cargo.toml")).expect("it is there");
    assert!(core.contains("\nincompatible_msrv = \"deny\"\n"), "the core has lints of its own");
}

/// Where the first instruction stands in an image's file (ELF32: entry at 24, program headers
/// at 28, their size and number at 42; a loaded one has type 1).
fn first_instruction(file: &[u8]) -> usize {
    let word =
        |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().expect("4 bytes")) as usize;
    let half =
        |at: usize| u16::from_le_bytes(file[at..at + 2].try_into().expect("2 bytes")) as usize;
    // The lowest bit says Thumb and is no part of the address.
    let entry = word(24) & !1;
    (0..half(44))
        .map(|index| word(28) + index * half(42))
        .filter(|header| word(*header) == 1)
        .map(|header| (word(header + 4), word(header + 8), word(header + 16)))
        .find(|(_, from, bytes)| (*from..from + bytes).contains(&entry))
        .map(|(offset, from, _)| offset + entry - from)
        .expect("the entry is loaded")
}

pub(crate) fn firmware_that_breaks_down_is_a_failure() {
    let whole = embedded::image(embedded::EMULATED).expect("run `cargo xtask test`");
    let mut file = fs::read(&whole).unwrap_or_else(|error| {
        panic!("{}: {error}: run `cargo xtask test`", whole.display());
    });
    // `udf #0`, which no processor knows.
    let at = first_instruction(&file);
    file[at..at + 2].copy_from_slice(&0xde00_u16.to_le_bytes());
    let image = folder("gate-broken").join("image");
    fs::write(&image, file).expect("a file can be written");
    let ran = emulator::run(&image, emulator::PATIENCE).expect("the emulator runs");
    assert!(!ran.success);
    let said = String::from_utf8_lossy(&ran.transcript);
    assert!(said.contains("gave up: hard fault"), "it said {said:?} and {}", ran.complaint);
}

pub(crate) fn what_is_missing_has_an_exit_code_of_its_own() {
    let missing = Stop::Missing { what: String::new(), how: String::new() };
    assert_eq!(missing.code(), 3);
    let failed = Stop::Failed { what: String::new(), code: 101 };
    assert_eq!(failed.code(), 101, "a step's exit code is passed on");
}
