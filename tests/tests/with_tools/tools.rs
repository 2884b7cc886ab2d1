//! What tests need, how it is looked for, and what brings it.

use evenhand_tests::outside;
use evenhand_tests::program::cargo;
use std::path::Path;
use xtask::machine::{self, install_line};
use xtask::process::{Stop, works};
use xtask::{embedded, emulator, pedal, python};

/// Something that a test cannot do without.
pub(crate) struct Tool {
    pub(crate) what: &'static str,
    /// Whether it is there.
    pub(crate) met: fn() -> bool,
    /// The command that brings it.
    pub(crate) how: fn() -> String,
}

impl Tool {
    /// In one line: what lacks, and what brings it.
    pub(crate) fn left_out(&self) -> String {
        format!("left out: {} ({})", self.what, (self.how)())
    }
}

/// QEMU.
pub(crate) const EMULATOR: Tool = Tool {
    what: "the emulator is not installed",
    met: emulator::available,
    how: || install_line(&[&machine::EMULATOR]),
};

/// A compiler for the pedal's processors.
pub(crate) const COMPILER: Tool = Tool {
    what: "no compiler for the pedal's processors is installed",
    met: embedded::available,
    how: || install_line(&[&machine::EMBEDDED]),
};

/// Clippy.
pub(crate) const CLIPPY: Tool = Tool {
    what: "clippy is not installed",
    met: || works(cargo().args(["clippy", "--version"])),
    how: || "rustup component add clippy".to_owned(),
};

/// The emulated pedal's image for the emulated board's own processor.
pub(crate) const EMULATED: Tool = image("the emulated pedal is not built", || {
    embedded::image(embedded::EMULATED).is_ok_and(|image| image.is_file())
});

/// The same for the smallest processor.
pub(crate) const SMALLEST: Tool = image("the emulated pedal is not built for a Cortex-M0+", || {
    embedded::image(embedded::SMALLEST).is_ok_and(|image| image.is_file())
});

/// The images that are measured: instructions, RAM, a second size of sessions.
pub(crate) const MEASURED: Tool = image("the images that are measured are not built", || {
    let images = [embedded::COST, embedded::SMALL].into_iter().chain(embedded::SESSIONS);
    images.map(embedded::smallest_image).all(|image| image.is_ok_and(|image| image.is_file()))
});

/// The pedal for the board whose size is kept.
pub(crate) const PEDAL: Tool = image("the pedal is not built for its board", || {
    let (board, with) = pedal::BUILT;
    board.image(with).is_file()
});

/// The published libraries and the recording.
pub(crate) const OUTSIDE: Tool = Tool {
    what: "the outside references are not installed",
    met: || python::is_provided(&outside::folder()),
    how: || "cargo xtask setup".to_owned(),
};

const fn image(what: &'static str, met: fn() -> bool) -> Tool {
    Tool { what, met, how: || "cargo xtask embedded build".to_owned() }
}

pub(crate) fn what_lacks_is_said_with_what_brings_it() {
    let none = Path::new(env!("CARGO_MANIFEST_DIR")).join("no-such-folder");
    assert!(!python::is_provided(&none));
    let line = Tool { met: || false, ..EMULATOR }.left_out();
    assert!(line.starts_with("left out: the emulator is not installed ("), "{line}");
    assert!(line.contains("qemu-system-arm") && line.lines().count() == 1, "{line}");
    // A machine's own way to say it has an exit code of its own, too.
    let stop = Stop::Missing { what: EMULATOR.what.to_owned(), how: (EMULATOR.how)() };
    assert_eq!(stop.code(), 3);
}
