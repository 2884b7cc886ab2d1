//! The MIDI system, who may use it, and what is plugged in.

use super::{Check, State};
use crate::live::choose::{Listed, NotChosen, choose};
use crate::{live, settings};

/// Looks at all of it.
pub(super) fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    match live::list() {
        Ok(listed) => {
            let number = match listed.len() {
                1 => "one input".to_owned(),
                many => format!("{many} inputs"),
            };
            checks.push(Check::good("midi-system", format!("{} is there: {number}", live::SYSTEM)));
            checks.push(ports(&listed));
        }
        Err(fault) => checks.push(Check::wrong("midi-system", &fault)),
    }
    #[cfg(target_os = "linux")]
    checks.extend(linux::checks());
    checks
}

fn ports(listed: &[Listed]) -> Check {
    // A file that cannot be read is told of where files are looked at.
    let remembered = settings::remembered_port().ok().flatten();
    let names: Vec<&str> = listed.iter().map(|port| port.name.as_str()).collect();
    let list = if names.is_empty() { String::new() } else { format!("\n{}", names.join("\n")) };
    match choose(listed, None, remembered.as_deref()) {
        Ok(port) => Check::good("midi-ports", format!("“{}” is listened to", port.lasting_name())),
        Err(why @ NotChosen::Several) => {
            Check::new("midi-ports", State::Mind, format!("{why}:{list}"))
                .advise("Choose once with `evenhand listen STUDY --port NAME`; it is remembered.")
        }
        Err(why) => Check::new("midi-ports", State::Mind, format!("{why}{list}")).advise(
            "Plug in the pickup's converter, switch it on, and look again. Try another cable and \
             another socket: some cables only carry power.",
        ),
    }
}

#[cfg(target_os = "linux")]
mod linux {
    use super::super::{Check, State};
    use std::fs;
    use std::io::ErrorKind;
    use std::path::Path;

    const DEVICES: &str = "/dev/snd";
    const SEQUENCER: &str = "/dev/snd/seq";
    const GROUP: &str = "audio";

    /// What the kernel offers, and whether this user may use it.
    pub(super) fn checks() -> Vec<Check> {
        if !Path::new(DEVICES).exists() {
            return vec![
                Check::new("sound-devices", State::Mind, format!("there is no {DEVICES}")).advise(
                    "A container or a virtual machine has to be given the sound devices; \
                     elsewhere the kernel has found none.",
                ),
            ];
        }
        vec![devices(), group()]
    }

    fn devices() -> Check {
        let opened = fs::OpenOptions::new().read(true).write(true).open(SEQUENCER);
        match opened.map_err(|error| error.kind()) {
            Ok(_) => Check::good("sound-devices", format!("{SEQUENCER} can be used")),
            Err(ErrorKind::PermissionDenied) => {
                let found = format!("you may not use {SEQUENCER}");
                Check::new("sound-devices", State::Wrong, found).advise(format!(
                    "Join the group that may: sudo usermod -aG {GROUP} $USER, then log out and in."
                ))
            }
            Err(_) => Check::new("sound-devices", State::Mind, format!("{SEQUENCER} is not there"))
                .advise("Load ALSA's sequencer: sudo modprobe snd-seq."),
        }
    }

    fn group() -> Check {
        let read = |path: &str| fs::read_to_string(path).unwrap_or_default();
        let status = read("/proc/self/status");
        match group_number(&read("/etc/group"), GROUP) {
            Some(number) if belongs(&status, number) => {
                Check::good("audio-group", format!("you belong to the group {GROUP}"))
            }
            Some(_) => {
                let found = format!("you do not belong to the group {GROUP}");
                Check::new("audio-group", State::Mind, found).advise(format!(
                    "Where a device cannot be opened: sudo usermod -aG {GROUP} $USER, then log \
                     out and in. On a desktop you may have the rights without it."
                ))
            }
            None => Check::new("audio-group", State::Absent, format!("there is no group {GROUP}")),
        }
    }

    /// From group(5): `name:password:number:members`.
    fn group_number(groups: &str, wanted: &str) -> Option<u32> {
        groups.lines().find_map(|line| {
            let mut fields = line.split(':');
            (fields.next()? == wanted).then(|| fields.nth(1)?.parse().ok())?
        })
    }

    /// From proc_pid_status(5): all ids count, and root (user 0) may do anything.
    fn belongs(status: &str, group: u32) -> bool {
        let numbers = |name: &str| {
            let line = status.lines().find_map(|line| line.strip_prefix(name)).unwrap_or_default();
            line.split_whitespace().filter_map(|word| word.parse::<u32>().ok()).collect::<Vec<_>>()
        };
        numbers("Uid:").get(1) == Some(&0)
            || numbers("Groups:").contains(&group)
            || numbers("Gid:").contains(&group)
    }

    #[cfg(test)]
    mod tests {
        use super::*;

        #[test]
        fn who_belongs_to_a_group() {
            let groups = "root:x:0:\naudio:x:29:somebody\nvideo:x:44:\n";
            assert_eq!(group_number(groups, "audio"), Some(29));
            assert_eq!(group_number(groups, "midi"), None);
            assert_eq!(group_number("audio:x\n", "audio"), None);
            let user = "Uid:\t1000\t1000\t1000\t1000\nGid:\t1000\t1000\t1000\t1000\n";
            assert!(belongs(&format!("{user}Groups:\t4 29 44 \n"), 29));
            assert!(!belongs(&format!("{user}Groups:\t4 44 \n"), 29));
            assert!(belongs("Uid:\t0\t0\t0\t0\nGroups:\t \n", 29));
        }
    }
}
