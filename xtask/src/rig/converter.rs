//! `cargo xtask rig converter`: sessions through a pitch-to-MIDI converter that is not ours, and what the
//! judge says of them beside what is asked of it.
//!
//! The converter is aubio, from Debian: a program under test, started as any other; nothing of ours links
//! it. What its settings are, and what its figures do not say, stands in `docs/converter-rig.md`.

use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::machine::{self, Need, Password};
use crate::places;
use crate::process::{Stop, cargo, run, say, works};

/// aubio, and what the rig's sounds are computed with.
pub const AUBIO: Need = Need {
    what: "the rig with a converter that is not ours (aubio)",
    packages: &["python3-aubio", "python3-numpy", "python3-scipy"],
    met: || python().is_some(),
};

/// Pythons to look at: Debian's packages are for Debian's own, whatever stands first on the PATH.
const PYTHONS: [&str; 2] = ["python3", "/usr/bin/python3"];

/// Seeds without a word: each is about 90 sessions with three settings. Our default.
const SEEDS: &str = "1";

fn python() -> Option<&'static str> {
    let hears = |python: &&str| {
        works(Command::new(python).args(["-c", "import aubio, numpy, scipy.signal"]))
    };
    PYTHONS.into_iter().find(hears)
}

/// Installs what is lacking, makes the sessions, and plays them to the judge.
pub fn rig(arguments: &[&str]) -> Result<(), Stop> {
    let seeds = seeds(arguments)?;
    machine::provide(&[AUBIO], Password::MayAsk)?;
    let folder = sessions(seeds)?;
    say("Playing them to the judge");
    let mut harness = cargo();
    harness.args(["run", "--release", "--quiet", "--package", "evenhand-tests"]);
    harness.args(["--no-default-features", "--bin", "converter", "--"]).arg(&folder);
    run("the judge behind a converter", &mut harness)
}

/// The same with one seed, where what is needed has been installed.
pub(crate) fn tests() -> Result<(), Stop> {
    rig(&[])
}

/// Makes the sessions anew: what stands there from another day is of another rig.
fn sessions(seeds: &str) -> Result<PathBuf, Stop> {
    let folder = places::root().join("target").join("rig-converter");
    if folder.exists() {
        fs::remove_dir_all(&folder).map_err(Stop::file(&folder))?;
    }
    let script = places::root().join("tests").join("outside").join("converter").join("make.py");
    say(&format!("Making sessions in {}; a seed takes some minutes", folder.display()));
    let mut make = Command::new(python().unwrap_or(PYTHONS[0]));
    // No compiled files among the sources.
    make.env("PYTHONDONTWRITEBYTECODE", "1").arg(script).arg(&folder);
    run("making sessions", make.args(["--seeds", seeds]))?;
    Ok(folder)
}

fn seeds<'a>(arguments: &[&'a str]) -> Result<&'a str, Stop> {
    match arguments {
        [] => Ok(SEEDS),
        ["--seeds", seeds] if seeds.parse::<u16>().is_ok_and(|seeds| seeds > 0) => Ok(seeds),
        _ => Err(Stop::Usage(
            "`cargo xtask rig converter [--seeds N]`: N is a whole number from 1 on; which they are \
             follows from EVENHAND_SEED_BASE."
                .to_owned(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_seeds_is_taken_and_nothing_else() {
        assert!(matches!(seeds(&[]), Ok(SEEDS)));
        assert!(matches!(seeds(&["--seeds", "3"]), Ok("3")));
        for wrong in [&["--seeds"][..], &["--seeds", "0"], &["--seeds", "-1"], &["3"]] {
            assert!(matches!(seeds(wrong), Err(Stop::Usage(_))), "{wrong:?}");
        }
    }
}
