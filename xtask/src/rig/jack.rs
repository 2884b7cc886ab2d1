//! `cargo xtask rig jack`: the build for JACK against a server without a sound card.

use std::process::Command;

use crate::machine::{self, Need, Password};
use crate::process::{Stop, cargo, on_path, run, works};

/// JACK's headers.
pub const HEADERS: Need = Need {
    what: "checking the build for JACK (its headers)",
    packages: &["libjack-jackd2-dev", "pkg-config"],
    met: || works(Command::new("pkg-config").args(["--exists", "jack"])),
};

/// JACK's server and its tools.
pub const JACK: Need =
    Need { what: "the rig with a JACK server", packages: &["jackd2"], met: is_there };

fn is_there() -> bool {
    let tools = ["jackd", "jack_lsp", "jack_midiseq"];
    tools.into_iter().all(|tool| on_path(tool).is_some())
}

/// Installs what is lacking, and runs the rig.
pub fn rig() -> Result<(), Stop> {
    machine::provide(&[machine::ALSA, HEADERS, JACK], Password::MayAsk)?;
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
