//! `cargo xtask rig sound`: the click, captured on its way to a sound card that is not there.

use std::path::Path;

use crate::machine::{self, Need, Password};
use crate::process::{Stop, cargo, run};
use crate::rig::jack::{HEADERS, JACK};

/// ALSA's way to a JACK server.
pub const PLUGIN: Need = Need {
    what: "the rig for sound (ALSA's way to a JACK server)",
    packages: &["libasound2-plugins"],
    met: is_there,
};

/// Where Debian and others keep libraries.
const LIBRARIES: [&str; 3] = ["/usr/lib", "/usr/lib64", "/usr/local/lib"];

/// The plug-in, in a folder of libraries or in one of its folders for a kind of machine.
fn is_there() -> bool {
    let plugin = Path::new("alsa-lib/libasound_module_pcm_jack.so");
    LIBRARIES.iter().map(Path::new).any(|folder| {
        let inner = std::fs::read_dir(folder).into_iter().flatten().flatten();
        folder.join(plugin).exists() || inner.into_iter().any(|e| e.path().join(plugin).exists())
    })
}

/// Installs what is lacking, and runs the rig.
pub fn rig() -> Result<(), Stop> {
    machine::provide(&[machine::ALSA, HEADERS, JACK, PLUGIN], Password::MayAsk)?;
    tests()
}

/// Runs the rig's tests, one after the other: each starts a server of the same name. The program
/// is the one that the rig with a JACK server has built.
pub(crate) fn tests() -> Result<(), Stop> {
    let mut test = cargo();
    test.args(["test", "--package", "evenhand-tests", "--features", "jack"]);
    test.args(["--test", "sound_rig", "--", "--test-threads", "1", "--nocapture"]);
    // A name of its own, so that a server on this machine is left alone.
    test.env("JACK_DEFAULT_SERVER", format!("evenhand-sound-{}", std::process::id()));
    run("the rig for sound", &mut test)
}
