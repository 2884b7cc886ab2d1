//! `cargo xtask rig jack`: the build for JACK against a server without a sound card.

use std::process::Command;

use crate::machine::{self, Need, Password};
use crate::process::{Stop, cargo, on_path, run, works};

/// JACK's server, its tools and its headers.
pub const JACK: Need = Need {
    what: "the rig with a JACK server, and its headers",
    packages: &["jackd2", "libjack-jackd2-dev", "pkg-config"],
    met: is_there,
};

fn is_there() -> bool {
    let tools = ["jackd", "jack_lsp", "jack_midiseq"];
    tools.into_iter().all(|tool| on_path(tool).is_some())
        && works(Command::new("pkg-config").args(["--exists", "jack"]))
}

/// Installs what is lacking, and runs the rig.
pub fn rig() -> Result<(), Stop> {
    machine::provide(&[machine::ALSA, JACK], Password::MayAsk)?;
    tests()
}

/// Runs the rig's tests, one after the other: each starts a server of the same name.
pub(crate) fn tests() -> Result<(), Stop> {
    let mut test = cargo();
    test.args(["test", "--package", "evenhand-tests", "--features", "jack", "--test", "jack"]);
    test.args(["--", "--test-threads", "1", "--nocapture"]);
    // A name of its own, so that a server on this machine is left alone.
    test.env("JACK_DEFAULT_SERVER", format!("evenhand-rig-{}", std::process::id()));
    run("the rig with a JACK server", &mut test)
}
