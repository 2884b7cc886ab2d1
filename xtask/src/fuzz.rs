//! `cargo xtask fuzz`: looks for inputs that break something.
//!
//! It needs the tool `cargo-fuzz` (from the package registry) and a compiler that takes
//! unstable options; RUSTC_BOOTSTRAP lets any compiler do so. The corpus in `fuzz/corpus` is
//! where it begins; what it finds on the way goes to `target/fuzz`, so that the kept corpus
//! grows only when somebody decides so.

use std::path::Path;

use crate::places;
use crate::process::{Stop, cargo, run, say, works};

/// The targets of `fuzz/`.
const TARGETS: [&str; 4] = ["session", "study", "smf", "pack"];

/// How a target is built. The judge has no unsafe code that a sanitizer could look at, and telling the
/// fuzzer of every comparison it makes takes three quarters of the time.
const fn options(target: &str) -> &'static [&'static str] {
    match target.as_bytes() {
        b"session" => &["--sanitizer=none", "--no-trace-compares"],
        _ => &[],
    }
}

/// Seconds for each target if nothing is said.
const SECONDS: &str = "600";

/// Fuzzes the named target, or all of them, for so many seconds each.
pub fn fuzz(arguments: &[String]) -> Result<(), Stop> {
    let (targets, seconds) = asked(arguments)?;
    if !works(cargo().args(["fuzz", "--version"])) {
        run("installing cargo-fuzz", cargo().args(["install", "cargo-fuzz", "--locked"]))?;
    }
    for target in targets {
        let found = places::root().join("target/fuzz").join(target);
        std::fs::create_dir_all(&found).map_err(|error| Stop::Failed {
            what: format!("{}: {error}", found.display()),
            code: 1,
        })?;
        say(&format!("{target}: what is new goes to {}", found.display()));
        let kept = Path::new("corpus").join(target);
        let mut call = cargo();
        call.current_dir(places::root().join("fuzz"))
            .env("RUSTC_BOOTSTRAP", "1")
            .args(["fuzz", "run", "--fuzz-dir", "."])
            .args(options(target))
            .arg(target)
            .args([found.as_os_str(), kept.as_os_str()])
            .args(["--", "-max_len=4096", "-timeout=20", "-print_final_stats=1"])
            .arg(format!("-max_total_time={seconds}"));
        run(&format!("fuzzing {target}"), &mut call)?;
    }
    Ok(())
}

/// Which targets, and how many seconds.
fn asked(arguments: &[String]) -> Result<(Vec<&'static str>, &str), Stop> {
    let mut targets: Vec<&str> = TARGETS.to_vec();
    let mut seconds = SECONDS;
    for argument in arguments {
        match TARGETS.iter().find(|target| *target == argument) {
            Some(target) => targets = vec![target],
            None if argument.parse::<u32>().is_ok() => seconds = argument,
            None => {
                let what = format!("`{argument}` is neither one of {TARGETS:?} nor seconds.");
                return Err(Stop::Usage(what));
            }
        }
    }
    Ok((targets, seconds))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_target_and_a_time_may_be_named() {
        let words = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect::<Vec<_>>();
        assert!(matches!(asked(&words(&[])), Ok((all, "600")) if all.len() == 4));
        assert!(matches!(asked(&words(&["smf", "30"])), Ok((one, "30")) if one == ["smf"]));
        assert!(asked(&words(&["nothing"])).is_err());
    }
}
