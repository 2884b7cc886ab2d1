//! `cargo xtask rig alsa`: the build for ALSA with a USB pickup that can be unplugged.
//!
//! No sound card is needed, and nothing of this machine's kernel: a small virtual machine boots
//! Debian's kernel, unpacked and never installed, and makes a USB-MIDI device of its own, which
//! its own kernel then finds. The program under test runs in there: first it listens, then it
//! practises a study from the first note to the joined chunks.

mod guest;
mod judge;
mod kernel;

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::machine::{self, Need, Password};
use crate::places;
use crate::process::{Stop, cargo, on_path, say};

/// The virtual machine and what its first file system is made with.
pub const GUEST: Need = Need {
    what: "a virtual machine for the rig with a USB pickup",
    packages: &["qemu-system-x86", "busybox-static", "cpio", "kmod", "libasound2-data"],
    met: is_there,
};

const EMULATOR: &str = "qemu-system-x86_64";

/// A run takes two to three minutes; our default for a machine under load.
const PATIENCE: Duration = Duration::from_secs(400);

fn is_there() -> bool {
    [EMULATOR, "cpio"].into_iter().all(|tool| on_path(tool).is_some())
        && guest::busybox().is_some()
        && kernel::depmod().is_some()
        && PathBuf::from("/usr/share/alsa/alsa.conf").exists()
}

/// Installs what is lacking, builds, runs, and says what came of it.
pub fn rig() -> Result<(), Stop> {
    if !cfg!(all(target_os = "linux", target_arch = "x86_64")) {
        return Err(Stop::Missing {
            what: "This rig is for Linux on x86-64.".to_owned(),
            how: "run it there, or use `cargo xtask rig jack`".to_owned(),
        });
    }
    machine::provide(&[machine::ALSA, GUEST], Password::MayAsk)?;
    let folder = places::root().join("target").join("rig-alsa");
    fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
    let program = program()?;
    let kernel = kernel::provide(&folder)?;
    let initrd = guest::pack(&folder, &program, &kernel)?;
    say("Booting the guest; it takes two to three minutes.");
    let log = boot(&folder, &kernel.image, &initrd)?;
    judge::judge(&log)?.iter().for_each(|line| say(line));
    Ok(())
}

/// Builds the program, and asks cargo where it put it.
fn program() -> Result<PathBuf, Stop> {
    let mut build = cargo();
    build.args(["build", "--package", "evenhand", "--message-format", "json-render-diagnostics"]);
    build.stderr(Stdio::inherit());
    let output = build.output().map_err(Stop::file(&places::root()))?;
    let failed = || Stop::Failed {
        what: "building evenhand".to_owned(),
        code: output.status.code().unwrap_or(1),
    };
    if !output.status.success() {
        return Err(failed());
    }
    let messages = String::from_utf8_lossy(&output.stdout);
    let path = messages.rsplit("\"executable\":\"").next().and_then(|rest| rest.split('"').next());
    path.map(PathBuf::from).filter(|path| path.is_file()).ok_or_else(failed)
}

fn boot(
    folder: &std::path::Path,
    image: &std::path::Path,
    initrd: &std::path::Path,
) -> Result<String, Stop> {
    let serial = folder.join("log.txt");
    let _ = fs::remove_file(&serial);
    let mut guest = Command::new(EMULATOR);
    // Translated, not virtualised: no rights are needed, and every machine can do it.
    guest.args(["-accel", "tcg", "-m", "512", "-smp", "2", "-net", "none", "-no-reboot"]);
    guest.arg("-kernel").arg(image).arg("-initrd").arg(initrd);
    guest.args(["-append", "console=ttyS0 quiet panic=-1 rdinit=/init", "-display", "none"]);
    guest.args(["-monitor", "none", "-serial"]).arg(format!("file:{}", serial.display()));
    guest.stdin(Stdio::null()).stdout(Stdio::null());
    let mut guest = guest.spawn().map_err(Stop::file(image))?;
    let begun = Instant::now();
    while guest.try_wait().map_err(Stop::file(image))?.is_none() {
        if begun.elapsed() > PATIENCE {
            let _ = guest.kill();
            let _ = guest.wait();
            break;
        }
        std::thread::sleep(Duration::from_millis(200));
    }
    let log = fs::read(&serial).map_err(Stop::file(&serial))?;
    say(&format!(
        "The guest ran for {} s; its log: {}",
        begun.elapsed().as_secs(),
        serial.display()
    ));
    Ok(String::from_utf8_lossy(&log).into_owned())
}
