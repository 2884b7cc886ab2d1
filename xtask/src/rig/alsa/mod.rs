//! `cargo xtask rig alsa`: the build for ALSA with a USB pickup that can be unplugged.
//!
//! No sound card is needed, and nothing of this machine's kernel: a small virtual machine boots
//! Debian's kernel, unpacked and never installed, and makes a USB-MIDI device of its own, which
//! its own kernel then finds. The program under test runs in there.

mod guest;
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

/// A run takes one to two minutes; our default for a machine under load.
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
    say("Booting the guest; it takes a minute or two.");
    let log = boot(&folder, &kernel.image, &initrd)?;
    judge(&log)?.iter().for_each(|line| say(line));
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

/// A line of the log: when, in seconds, and what.
fn lines(log: &str) -> impl Iterator<Item = (f64, &str)> {
    log.lines().filter_map(|line| {
        let (time, text) = line.trim_end().split_once("RIG ")?.1.split_once(' ')?;
        Some((time.parse().ok()?, text))
    })
}

/// What the log has to hold, in order. Gives what is worth telling, or says what is missing.
fn judge(log: &str) -> Result<Vec<String>, Stop> {
    let mut told = Vec::new();
    let failed = |what: &str| Stop::Failed { what: format!("{what}\n\n{log}"), code: 1 };
    let mut rest = lines(log);
    let mut find = |wanted: &str, what: &str| {
        rest.find(|(_, text)| text.contains(wanted)).ok_or_else(|| failed(what))
    };
    find("ports Six String Converter", "the pickup is not listed")?;
    find("takes “Six String Converter", "the pickup is not the port that is taken")?;
    let (begun, _) = find("sends 1000 notes", "nothing was sent")?;
    let (sent, _) = find("sends 100 chords", "no chords were sent")?;
    told.push(format!("1000 notes in {:.1} s, then 100 chords of six.", sent - begun));
    // Numbers count all note-ons: if the octave's first is 1600, none before it was lost.
    for number in 1_600..1_608 {
        find(&format!("\"played\":{number},"), "not every note arrived")?;
    }
    find("\"kind\":\"verdict\"", "no verdict came")?;
    told.push("Nothing was lost, and the octave after it was judged.".to_owned());
    let (_, idle) = find("idle ", "the program's costs are not told")?;
    told.push(format!("The program was {idle}."));
    let (unplugged, _) = find("unplugs", "the pickup was not unplugged")?;
    let (noticed, event) =
        find("\"kind\":\"interrupted\"", "nobody noticed that it was unplugged")?;
    told.push(format!("Unplugged in an attempt: said after {:.2} s.", noticed - unplugged));
    if noticed - unplugged > 2.0 || !event.contains("\"attempt_under_way\":true") {
        return Err(failed("unplugging was noticed late, or not as an interruption"));
    }
    let (plugged, _) = find("plugs in", "the pickup was not plugged in again")?;
    let (back, _) = find("\"kind\":\"resumed\"", "nobody noticed that it was back")?;
    told.push(format!("Plugged in again: said after {:.2} s.", back - plugged));
    for number in 1_613..1_621 {
        find(&format!("\"played\":{number},"), "not every note arrived after that")?;
    }
    find("\"kind\":\"verdict\"", "no verdict came after that")?;
    find("is away", "it is not said that the pickup is away")?;
    find("is back", "it is not said that the pickup is back")?;
    find("done", "the guest did not come to its end")?;
    Ok(told)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A log as it should be.
    fn good() -> String {
        let pair = |number: u32| {
            format!("RIG 20.00 event {{\"kind\":\"pair\",\"played\":{number},\"x\":1}}")
        };
        let verdict = "RIG 21.00 event {\"kind\":\"verdict\"}".to_owned();
        let mut lines = vec![
            "[    0.1] a word of the kernel".to_owned(),
            "RIG 2.00 ports Six String Converter:MIDI 1 20:0".to_owned(),
            "RIG 2.10 ports `evenhand listen STUDY` takes “Six String Converter:MIDI 1”."
                .to_owned(),
            "RIG 3.00 sends 1000 notes".to_owned(),
            "RIG 13.00 sends 100 chords".to_owned(),
        ];
        lines.extend((1_600..1_608).map(pair));
        lines.push(verdict.clone());
        lines.push("RIG 26.00 idle 2 hundredths of a second in 5 s".to_owned());
        lines.push("RIG 30.00 unplugs".to_owned());
        let interrupted = "{\"kind\":\"interrupted\",\"attempt_under_way\":true}";
        lines.push(format!("RIG 30.40 event {interrupted}"));
        lines.push("RIG 33.00 plugs in".to_owned());
        lines.push("RIG 34.00 event {\"kind\":\"resumed\"}".to_owned());
        lines.extend((1_613..1_621).map(pair));
        lines.push(verdict);
        lines.push("RIG 40.00 said evenhand: “Six” is away, unplugged".to_owned());
        lines.push("RIG 40.00 said evenhand: “Six” is back.".to_owned());
        lines.push("RIG 40.10 done".to_owned());
        lines.join("\n")
    }

    #[test]
    fn a_log_is_only_good_with_every_line() {
        let log = good();
        assert!(judge(&log).is_ok());
        // The kernel's line is nobody's business.
        for missing in 1..log.lines().count() {
            let kept = log.lines().enumerate().filter(|(index, _)| *index != missing);
            let cut: Vec<&str> = kept.map(|(_, line)| line).collect();
            assert!(judge(&cut.join("\n")).is_err(), "{}", log.lines().nth(missing).unwrap());
        }
    }

    #[test]
    fn what_is_noticed_late_is_noticed() {
        assert!(judge(&good().replace("RIG 30.40", "RIG 32.10")).is_err());
        assert!(judge(&good().replace("way\":true", "way\":false")).is_err());
    }
}
