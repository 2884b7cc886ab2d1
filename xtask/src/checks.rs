//! `cargo xtask test`: every check that a change wants, the tests themselves last; and
//! `cargo xtask test --all`: what takes longer, too.
//!
//! Nothing is compiled twice that can be compiled once: the tests are built without live ports and sound
//! (which `--all` tries, with rigs), the same way by each call. What is built for other processors and
//! the outside references come into being beside that, since a compiler seldom keeps two processors busy.

use std::process::Command;
use std::time::Instant;

use crate::beside::Beside;
use crate::machine::{self, Password};
use crate::process::{Stop, cargo, on_path, run, say, works};
use crate::{disk, embedded, pedal, places, python, rig, seeds};

/// What somebody asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tier {
    /// What every change wants.
    First,
    /// All there is.
    All,
}

/// What the first tier leaves out: what it is, and the command that runs it by itself.
const LEFT_OUT: [(&str, &str); 9] = [
    ("all seeds, where a sample is tried", "cargo xtask seeds"),
    ("live input with a JACK server in place of hardware", "cargo xtask rig jack"),
    ("sound with a JACK server in place of a card", "cargo xtask rig sound"),
    ("live input with a USB pickup that is unplugged", "cargo xtask rig alsa"),
    ("the pedal's image on an emulated chip", "cargo xtask rig chip"),
    ("sessions through a converter that is not ours", "cargo xtask rig converter"),
    ("the program's own tests of live ports and sound", "cargo test --package evenhand"),
    (
        "the pedal for its boards, and the emulated one for a Cortex-M0+",
        "cargo xtask embedded build",
    ),
    ("all of deny.toml, of which the tests read two lists", "cargo deny check"),
];

/// Runs what is asked for, and stops at the first step that fails.
pub fn test(tier: Tier) -> Result<(), Stop> {
    let mut steps = Steps { started: Instant::now(), number: 0 };
    steps.first(tier)?;
    match tier {
        Tier::First => {
            for (what, how) in LEFT_OUT {
                say(&format!("left out: {what} ({how})"));
            }
            say(&format!(
                "left out: {} of the checks; `cargo xtask test --all` runs them",
                LEFT_OUT.len()
            ));
        }
        Tier::All => steps.second()?,
    }
    steps.say("the rest of the tests");
    run("tests", &mut tests(&THE_REST))
}

/// How far it has come.
struct Steps {
    started: Instant,
    number: u32,
}

impl Steps {
    fn say(&mut self, name: &str) {
        self.number += 1;
        let seconds = self.started.elapsed().as_secs();
        say(&format!("Step {}, after {seconds} s: {name}", self.number));
    }

    /// What every change wants, but for the rest of the tests. What is quick to fail comes first.
    fn first(&mut self, tier: Tier) -> Result<(), Stop> {
        self.say("what this machine needs");
        disk::enough()?;
        machine::provide(machine::of(tier), Password::MayAsk)?;
        self.say("formatting");
        formatting()?;
        let outside = Beside::start("outside references in Python", &mut ourselves(&["setup"]))?;
        let firmware = Beside::start("the firmware", &mut ourselves(&["test", "--firmware"]))?;
        self.say("building the tests");
        run("building the tests", tests(&[]).arg("--no-run"))?;
        self.say("clippy");
        clippy()?;
        self.say("documentation");
        documentation()?;
        self.say("the core by itself");
        core_features()?;
        self.say("the firmware and the outside references, which were made meanwhile");
        outside.join()?;
        firmware.join()?;
        self.say("tests");
        let mut waiting = tests(&["--test", "real_time", "--", "--test-threads", WAITING]);
        let waiting = Beside::start("tests that wait", &mut waiting)?;
        run("tests", &mut kindly(tests(&MUCH_WORK)))?;
        waiting.join()?;
        run("tests of the documentation", &mut tests(&["--doc"]))
    }

    /// What takes longer.
    fn second(&mut self) -> Result<(), Stop> {
        self.say("every image, for every processor and board");
        embedded::build_all()?;
        pedal::build(pedal::With::ALL)?;
        self.say("the pedal's image on an emulated chip");
        rig::chip::tests()?;
        self.say("live ports and sound");
        run("the program's own tests", cargo().args(["test", "--package", "evenhand"]))?;
        self.say("live input with a JACK server in place of hardware");
        rig::jack::tests()?;
        self.say("sound with a JACK server in place of a card");
        rig::sound::tests()?;
        self.say("live input with a USB pickup that is unplugged");
        rig::alsa::rig()?;
        self.say("sessions through a converter that is not ours");
        rig::converter::tests()?;
        self.say("all of deny.toml");
        deny()?;
        self.say("all seeds");
        seeds::seeds(&[])
    }
}

/// This program with other words.
fn ourselves(words: &[&str]) -> Command {
    let this = std::env::current_exe().unwrap_or_else(|_| "xtask".into());
    let mut command = Command::new(this);
    command.current_dir(places::root()).args(words);
    command
}

/// Tests that spend their time waiting for bytes that somebody plays; so many wait at once. Our
/// default: all of them.
const WAITING: &str = "64";

/// What keeps processors busy.
const MUCH_WORK: [&str; 4] = ["--test", "judge", "--test", "program"];

/// Everything else. The program's own tests are in it, so the test that runs them is left out.
const THE_REST: [&str; 11] = [
    "--lib",
    "--examples",
    "--test",
    "house",
    "--test",
    "with_tools",
    "--test",
    "own",
    "--",
    "--skip",
    "own_tests::",
];

/// `cargo test` of everything, always built the same way. With live ports and sound the program would
/// want ALSA's headers, and be another program than the one that the tests start.
fn tests(arguments: &[&str]) -> Command {
    let mut test = cargo();
    test.args(["test", "--workspace", "--exclude", "evenhand-bench", "--no-default-features"]);
    test.args(arguments);
    test.env(python::VARIABLE, places::outside()).env("EVENHAND_PROGRAM", places::program());
    test
}

/// The same, but what waits in real time goes first.
fn kindly(command: Command) -> Command {
    if on_path("nice").is_none() {
        return command;
    }
    let mut nice = Command::new("nice");
    nice.arg(command.get_program()).args(command.get_args());
    for (name, value) in command.get_envs() {
        match value {
            Some(value) => nice.env(name, value),
            None => nice.env_remove(name),
        };
    }
    nice.current_dir(places::root());
    nice
}

/// A cargo call in the firmware's workspace that builds for this machine, not for a board. It has a
/// folder of its own, so that it can run beside what is built for the program.
fn firmware_on_host(subcommand: &str) -> Command {
    let mut command = cargo();
    command.current_dir(places::firmware()).arg(subcommand);
    command.env("CARGO_TARGET_DIR", places::root().join("target").join("firmware"));
    command
}

fn formatting() -> Result<(), Stop> {
    run("cargo fmt", cargo().args(["fmt", "--all", "--check"]))?;
    run("cargo fmt of the firmware", firmware_on_host("fmt").args(["--all", "--check"]))?;
    let mut pico = cargo();
    pico.current_dir(places::pico()).args(["fmt", "--check"]);
    run("cargo fmt of the boards that people build", &mut pico)
}

const STRICT: [&str; 7] =
    ["--workspace", "--all-targets", "--all-features", "--quiet", "--", "-D", "warnings"];

fn clippy() -> Result<(), Stop> {
    run("clippy", cargo().arg("clippy").args(STRICT))
}

fn documentation() -> Result<(), Stop> {
    let mut doc = cargo();
    doc.args(["doc", "--workspace", "--no-deps", "--all-features", "--quiet"]);
    run("cargo doc", doc.env("RUSTDOCFLAGS", "-D warnings"))
}

/// The core must compile alone with each of its features, with none and with all. What a workspace
/// build turns on for one member is on for all, so only the core by itself shows a missing condition.
fn core_features() -> Result<(), Stop> {
    let manifest = places::root().join("core").join("Cargo.toml");
    let manifest = std::fs::read_to_string(&manifest).map_err(Stop::file(&manifest))?;
    let features = features_of(&manifest);
    let all = features.join(",");
    for features in [""].into_iter().chain(features).chain([all.as_str()]) {
        let mut check = cargo();
        check.args(["check", "--quiet", "--package", "evenhand-core", "--no-default-features"]);
        run(&format!("the core with features [{features}]"), check.args(["--features", features]))?;
    }
    Ok(())
}

/// The features that a manifest states.
fn features_of(manifest: &str) -> Vec<&str> {
    let sections = manifest.split("\n[");
    let features = sections.into_iter().find_map(|section| section.strip_prefix("features]"));
    let names = features.unwrap_or_default().lines().filter(|line| !line.starts_with('#'));
    let names = names.filter_map(|line| line.split_once(" = ")).map(|(name, _)| name);
    names.filter(|name| *name != "default").collect()
}

/// What is built for other processors, and checked and tested of it on this one.
///
/// The image for the emulated board's own processor is what the tests run; those that are measured are
/// for a Cortex-M0+, which shows that the core neither allocates nor needs an operating system. The boards
/// that people build take as long as all of that, most of it for other people's macros, so they are in the
/// second tier.
pub fn firmware() -> Result<(), Stop> {
    embedded::build_image(embedded::EMULATED)?;
    embedded::build_measured()?;
    // What is there from another day would be run and compared as it was then.
    if embedded::image(embedded::SMALLEST)?.is_file() {
        embedded::build_image(embedded::SMALLEST)?;
    }
    let (board, with) = pedal::BUILT;
    if board.image(with).is_file() {
        pedal::build_kept()?;
    }
    // Boards are checked too, as far as a host can: nothing is assembled or linked for them.
    run("clippy of the firmware", firmware_on_host("clippy").args(STRICT))?;
    let package = ["--quiet", "--package", "evenhand-pedal"];
    run("tests of the firmware", firmware_on_host("test").args(package))
}

/// It takes minutes to build, so nothing here installs it; the tests read the two lists that matter most.
fn deny() -> Result<(), Stop> {
    let mut deny = cargo();
    if works(cargo().args(["deny", "--version"])) {
        return run("cargo deny", deny.args(["deny", "check", "licenses", "sources", "bans"]));
    }
    say(
        "left out: all of deny.toml, cargo-deny is not installed (cargo install --locked cargo-deny)",
    );
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever stands in the folders of tests is run by one of the calls.
    #[test]
    fn no_test_is_forgotten() {
        let root = places::root();
        let names = |folder: &str| -> Vec<String> {
            let entries = std::fs::read_dir(root.join(folder)).expect("there are tests");
            let names = entries.flatten().map(|entry| entry.path());
            let is_test = |path: &std::path::PathBuf| {
                path.extension().is_some() || path.join("main.rs").is_file()
            };
            names
                .filter(is_test)
                .filter_map(|path| Some(path.file_stem()?.to_str()?.to_owned()))
                .collect()
        };
        let rigs = ["chip", "jack", "sound_rig"];
        let called =
            |name: &str| MUCH_WORK.iter().chain(&THE_REST).any(|argument| *argument == name);
        for name in names("tests/tests").into_iter().chain(names("host-cli/tests")) {
            assert!(
                called(&name) || name == "real_time" || rigs.contains(&name.as_str()),
                "{name}"
            );
        }
        assert!(!called("another"));
    }

    #[test]
    fn every_feature_is_tried_alone() {
        let manifest = "[package]\nname = \"core\"\n\n[features]\ndefault = []\n# For a.\na = []\n\
                        b = [\"a\", \"dep:c\"]\n\n[lints.rust]\nmissing_docs = \"warn\"\n";
        assert_eq!(features_of(manifest), ["a", "b"]);
        let core = std::fs::read_to_string(places::root().join("core/Cargo.toml")).expect("there");
        assert!(features_of(&core).len() >= 6, "{:?}", features_of(&core));
    }

    #[test]
    fn what_is_left_out_is_said_with_the_command_that_runs_it() {
        assert!(LEFT_OUT.iter().all(|(what, how)| !what.is_empty() && how.starts_with("cargo ")));
    }
}
