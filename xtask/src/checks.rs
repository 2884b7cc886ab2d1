//! `cargo xtask test`: every check there is, the tests themselves last.

use std::process::Command;
use std::time::Instant;

use crate::machine::{self, Password};
use crate::process::{Stop, cargo, run, say};
use crate::{disk, embedded, pedal, places, python, rig};

/// The features with which the core must compile alone. What a workspace build turns on for one
/// member is on for all, so only the core by itself shows a missing condition.
const CORE_FEATURES: [&str; 7] = ["", "serde", "defmt", "player", "embedded-hal", "pack", "link"];

type Step = (&'static str, fn() -> Result<(), Stop>);

/// In the order in which they run: what is quick to fail first, the tests last, because the
/// last lines printed have to be the test runner's.
const STEPS: [Step; 11] = [
    ("what this machine needs", needs),
    ("formatting", formatting),
    ("clippy", clippy),
    ("documentation", documentation),
    ("the core by itself", core_features),
    ("outside references in Python", outside),
    ("the core and the firmware for their processors", firmware),
    ("tests of the firmware's board-independent part", firmware_tests),
    ("live input with a JACK server in place of hardware", rig::jack::tests),
    ("sound with a JACK server in place of a card", rig::sound::tests),
    ("tests", tests),
];

/// Runs every step, and stops at the first that fails.
pub fn test() -> Result<(), Stop> {
    let started = Instant::now();
    for (index, (name, step)) in STEPS.iter().enumerate() {
        let seconds = started.elapsed().as_secs();
        say(&format!("Step {} of {}, after {seconds} s: {name}", index + 1, STEPS.len()));
        step()?;
    }
    Ok(())
}

fn needs() -> Result<(), Stop> {
    disk::enough()?;
    machine::provide(&machine::ALL, Password::MayAsk)
}

/// A cargo call in the firmware's workspace that builds for this machine, not for a board, and
/// uses what has been built for this machine already.
fn firmware_on_host(subcommand: &str) -> Command {
    let mut command = cargo();
    command.current_dir(places::firmware()).arg(subcommand);
    if std::env::var_os("CARGO_TARGET_DIR").is_none() {
        command.env("CARGO_TARGET_DIR", places::root().join("target"));
    }
    command
}

fn formatting() -> Result<(), Stop> {
    run("cargo fmt", cargo().args(["fmt", "--all", "--check"]))?;
    run("cargo fmt of the firmware", firmware_on_host("fmt").args(["--all", "--check"]))?;
    let mut pico = cargo();
    pico.current_dir(places::pico()).args(["fmt", "--check"]);
    run("cargo fmt of the boards that people build", &mut pico)
}

fn clippy() -> Result<(), Stop> {
    let arguments = ["--workspace", "--all-targets", "--all-features", "--quiet"];
    let strict = ["--", "-D", "warnings"];
    run("clippy", cargo().arg("clippy").args(arguments).args(strict))?;
    // Boards are checked too, as far as a host can: nothing is assembled or linked for them.
    let mut firmware = firmware_on_host("clippy");
    run("clippy of the firmware", firmware.args(arguments).args(strict))
}

fn documentation() -> Result<(), Stop> {
    let mut doc = cargo();
    doc.args(["doc", "--workspace", "--no-deps", "--quiet"]);
    run("cargo doc", doc.env("RUSTDOCFLAGS", "-D warnings"))
}

fn core_features() -> Result<(), Stop> {
    for features in CORE_FEATURES {
        let mut check = cargo();
        check.args(["check", "--quiet", "--package", "evenhand-core", "--no-default-features"]);
        run(&format!("the core with features [{features}]"), check.args(["--features", features]))?;
    }
    Ok(())
}

fn outside() -> Result<(), Stop> {
    python::provide().map(|_| ())
}

/// The smallest processor shows that the core neither allocates nor needs an operating system,
/// and the emulated one is what the tests run. Of the boards that people build, the
/// smaller is built, whose size is kept; `cargo xtask embedded build` looks at the other, too.
fn firmware() -> Result<(), Stop> {
    embedded::build_core(embedded::SMALLEST)?;
    embedded::report_sizes()?;
    pedal::build_kept()
}

fn firmware_tests() -> Result<(), Stop> {
    let package = ["--quiet", "--package", "evenhand-pedal"];
    run("tests of the firmware", firmware_on_host("test").args(package))
}

fn tests() -> Result<(), Stop> {
    let mut test = cargo();
    test.args(["test", "--workspace"]);
    run("tests", test.env(python::VARIABLE, places::outside()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_test_runner_has_the_last_word() {
        assert_eq!(STEPS.last().map(|step| step.0), Some("tests"));
    }
}
