//! `cargo xtask rig chip`: the pedal's image, unchanged, on an emulated RP2040.
//!
//! The emulator is `rp2040js`, from npm (MIT): a program under test, started as any other; nothing of ours links
//! it. What it lacks is in `tests/outside/chip`; what the rig shows and what it does not, in `docs/chip-rig.md`.

use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::machine::{self, EMBEDDED, Need, Password};
use crate::process::{Stop, cargo, on_path, run, say, works};
use crate::{pedal, places};

/// A runtime for the emulator, and what fetches it.
pub const NODE: Need = Need {
    what: "the rig with an emulated chip (Node.js)",
    packages: &["nodejs", "npm"],
    met: node,
};

fn node() -> bool {
    on_path("npm").is_some() && works(Command::new("node").arg("--version"))
}

/// Installs what is lacking, builds the image, and runs the rig.
pub fn rig() -> Result<(), Stop> {
    machine::provide(&[machine::ALSA, EMBEDDED, NODE], Password::MayAsk)?;
    tests()
}

/// The same where what is needed has been installed.
pub(crate) fn tests() -> Result<(), Stop> {
    let image = pedal::write_kept_uf2()?;
    let modules = modules()?;
    let mut test = cargo();
    test.args([
        "test",
        "--package",
        "evenhand-tests",
        "--no-default-features",
        "--features",
        "chip",
    ]);
    test.args(["--test", "chip", "--", "--test-threads", "2", "--nocapture"]);
    test.env("EVENHAND_CHIP_IMAGE", image).env("EVENHAND_CHIP_MODULES", modules);
    run("the rig with an emulated chip", &mut test)
}

/// The emulator, in a folder of its own beside what is built.
fn modules() -> Result<PathBuf, Stop> {
    let folder = places::root().join("target").join("rig-chip");
    fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
    let manifest = folder.join("package.json");
    let ours = places::root().join("tests/outside/chip/package.json");
    fs::copy(&ours, &manifest).map_err(Stop::file(&ours))?;
    if !folder.join("node_modules/rp2040js/package.json").is_file() {
        say(&format!("Installing the emulator in {}", folder.display()));
    }
    let mut install = Command::new("npm");
    install.args(["install", "--no-package-lock", "--no-audit", "--no-fund", "--silent"]);
    run("npm install", install.current_dir(&folder))?;
    Ok(folder)
}
