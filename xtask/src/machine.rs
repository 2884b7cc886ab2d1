//! What this machine lacks, and how to get it. Everything may be run again at any time: what
//! is there already is left alone.

use std::io::IsTerminal as _;
use std::process::Command;

use crate::checks::Tier;
use crate::process::{Stop, answer, on_path, run, say, works};
use crate::rig::alsa::GUEST;
use crate::rig::chip::NODE;
use crate::rig::converter::AUBIO;
use crate::rig::jack::{HEADERS, JACK};
use crate::rig::sound::PLUGIN;
use crate::{embedded, emulator, python};

/// Something that has to be on the machine.
pub struct Need {
    /// What it is for, for messages.
    pub what: &'static str,
    /// The Debian packages that bring it.
    pub packages: &'static [&'static str],
    /// Whether it is there.
    pub met: fn() -> bool,
}

/// ALSA's headers, for live input on Linux.
pub const ALSA: Need = Need {
    what: "live MIDI input (ALSA's headers)",
    packages: &["libasound2-dev", "pkg-config"],
    met: alsa_headers,
};

/// The emulator of the firmware's test board.
pub const EMULATOR: Need = Need {
    what: "the emulator of the firmware's test board",
    packages: &["qemu-system-arm"],
    met: emulator::available,
};

/// Python with `venv`, for the outside references.
pub const PYTHON: Need = Need {
    what: "the outside references of the tests (Python with venv)",
    packages: &["python3", "python3-venv"],
    met: python::available,
};

/// A compiler with the core library for every processor that we build for.
pub const EMBEDDED: Need = Need {
    what: "building for the pedal's processors",
    packages: embedded::DEBIAN_PACKAGES,
    met: embedded::available,
};

/// All that the first tier of `cargo xtask test` asks for.
pub const FIRST: [Need; 5] = [ALSA, HEADERS, EMULATOR, PYTHON, EMBEDDED];

/// All that both tiers ask for.
pub const ALL: [Need; 10] =
    [ALSA, HEADERS, EMULATOR, PYTHON, EMBEDDED, JACK, PLUGIN, GUEST, AUBIO, NODE];

/// What a tier asks for.
pub const fn of(tier: Tier) -> &'static [Need] {
    match tier {
        Tier::First => &FIRST,
        Tier::All => &ALL,
    }
}

/// Whether somebody sits there who can type a password.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Password {
    /// sudo may ask for it, if there is a terminal.
    MayAsk,
    /// Never wait for anybody.
    Never,
}

fn alsa_headers() -> bool {
    !cfg!(target_os = "linux") || works(Command::new("pkg-config").args(["--exists", "alsa"]))
}

/// The start of an `apt-get` call with the rights to install; `None` without apt-get or rights.
fn apt_get(password: Password) -> Option<Command> {
    on_path("apt-get")?;
    let mut command = if answer(Command::new("id").arg("-u")).as_deref() == Some("0") {
        Command::new("env")
    } else {
        on_path("sudo")?;
        let mut sudo = Command::new("sudo");
        if password == Password::Never || !std::io::stdin().is_terminal() {
            if !works(Command::new("sudo").args(["-n", "true"])) {
                return None;
            }
            sudo.arg("-n");
        }
        sudo.arg("env");
        sudo
    };
    // Unreachable servers and another running apt-get must not hold anybody up for long:
    // the two times, in seconds, are our defaults.
    command.args(["DEBIAN_FRONTEND=noninteractive", "apt-get", "-q"]);
    command.args(["-o", "Acquire::http::Timeout=20", "-o", "DPkg::Lock::Timeout=300"]);
    Some(command)
}

/// The one line that brings what `needs` lack.
pub fn install_line(needs: &[&Need]) -> String {
    let sudo =
        if answer(Command::new("id").arg("-u")).as_deref() == Some("0") { "" } else { "sudo " };
    let packages = packages(needs).join(" ");
    if on_path("apt-get").is_some() {
        format!("{sudo}apt-get install --no-install-recommends {packages}")
    } else {
        format!("install what Debian calls {packages}")
    }
}

fn packages(needs: &[&Need]) -> Vec<&'static str> {
    needs.iter().flat_map(|need| need.packages.iter().copied()).collect()
}

/// Installs what is lacking; an error says what is still lacking and what brings it.
pub fn provide(needs: &[Need], password: Password) -> Result<(), Stop> {
    let lacking: Vec<&Need> = needs.iter().filter(|need| !(need.met)()).collect();
    if lacking.is_empty() {
        return Ok(());
    }
    let what = lacking.iter().map(|need| need.what).collect::<Vec<_>>().join(", ");
    if apt_get(password).is_some() {
        say(&format!("Not there yet: {what}. Running: {}", install_line(&lacking)));
        install(&packages(&lacking), password);
    }
    let still: Vec<&Need> = lacking.into_iter().filter(|need| !(need.met)()).collect();
    if still.is_empty() {
        return Ok(());
    }
    let what = still.iter().map(|need| need.what).collect::<Vec<_>>().join(", ");
    let mut how = install_line(&still);
    if still.iter().any(|need| need.packages == embedded::DEBIAN_PACKAGES) {
        how.push_str(&format!("\nor, for the processors: {}", embedded::rustup_line()));
    }
    Err(Stop::Missing { what: format!("Missing on this machine: {what}."), how })
}

/// Runs apt-get. Whether it helped is found out by looking again, so nothing is returned.
fn install(packages: &[&str], password: Password) {
    for arguments in [&["update"][..], &["install", "-y", "--no-install-recommends"][..]] {
        let Some(mut apt) = apt_get(password) else {
            return;
        };
        apt.args(arguments);
        if arguments.len() > 1 {
            apt.args(packages);
        }
        if let Err(stop) = run("apt-get", &mut apt) {
            // An update that failed may still leave lists that are good enough.
            say(&stop.to_string());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_is_left_alone() {
        let there = Need { what: "nothing", packages: &["no-such-package"], met: || true };
        assert!(provide(&[there], Password::Never).is_ok());
    }

    #[test]
    fn the_line_to_install_names_every_package_once() {
        let line = install_line(&[&ALSA, &EMULATOR]);
        for package in ["libasound2-dev", "pkg-config", "qemu-system-arm"] {
            assert_eq!(line.matches(package).count(), 1, "{line}");
        }
    }
}
