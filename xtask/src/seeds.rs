//! `cargo xtask seeds`: what takes too many seeds for every change. It is the same tests with all
//! seeds: the alignment beside a slow one, the pedal beside the program, the search for clear faults that
//! pass, simulated rehearsals, and the tables of error rates.

use crate::process::{Stop, cargo, run};

/// The variable that asks for all seeds; see `evenhand_tests::seeds`.
const ALL: &str = "EVENHAND_ALL_SEEDS";

/// The variable with the number from which all seeds follow.
const BASE: &str = "EVENHAND_SEED_BASE";

/// The tests that know it, in the test programs that hold them.
const TESTS: [&[&str]; 3] = [
    &["--package", "evenhand-core", "--lib", "--", "align::"],
    &["--package", "evenhand-tests", "--test", "with_tools", "--", "parity::"],
    &[
        "--package",
        "evenhand-tests",
        "--test",
        "judge",
        "--",
        "search::",
        "rehearsal::",
        "error_rates::",
        "alignment_rates::",
    ],
];

/// Runs them with all seeds, from the kept base or from the one that is named.
pub fn seeds(arguments: &[String]) -> Result<(), Stop> {
    let base = base(arguments)?;
    for tests in TESTS {
        let mut test = cargo();
        test.args(["test", "--release"]).args(tests).env(ALL, "1");
        if let Some(base) = base {
            test.env(BASE, base);
        }
        run("all seeds", &mut test)?;
    }
    Ok(())
}

fn base(arguments: &[String]) -> Result<Option<&str>, Stop> {
    match arguments {
        [] => Ok(None),
        [base] if base.parse::<u64>().is_ok() => Ok(Some(base)),
        _ => Err(Stop::Usage("`cargo xtask seeds [BASE]`: the base is a whole number.".to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_base_is_a_number() {
        let words = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect::<Vec<_>>();
        assert!(matches!(base(&words(&[])), Ok(None)));
        assert!(matches!(base(&words(&["17"])), Ok(Some("17"))));
        assert!(base(&words(&["-1"])).is_err() && base(&words(&["1", "2"])).is_err());
    }
}
