//! `cargo xtask demo`: builds the program with what the machine offers, and runs its demo.

use crate::machine::{self, ALSA, Password};
use crate::process::{Stop, cargo, run, say};

/// Builds and runs `evenhand demo` with `arguments`. Nothing is asked and nothing is needed
/// but cargo: without ALSA's headers live input is left out, since the demo does not use it.
pub fn demo(arguments: &[String]) -> Result<(), Stop> {
    let mut features: &[&str] = &[];
    if machine::provide(&[ALSA], Password::Never).is_err() {
        features = &["--no-default-features"];
        say(&format!(
            "Built without live MIDI input, which the demo does not use. To get it: {}",
            machine::install_line(&[&ALSA])
        ));
    }
    let package = ["--release", "--package", "evenhand"];
    // Built first and by itself, so that the demo's own output stands alone at the end.
    run("building evenhand", cargo().arg("build").args(package).args(features))?;
    let mut program = cargo();
    program.args(["run", "--quiet"]).args(package).args(features);
    run("evenhand demo", program.args(["--", "demo"]).args(arguments))
}
