//! Debian's kernel, unpacked into a folder and never installed.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::process::{Stop, answer, on_path, run};

/// What the guest needs: ALSA's sequencer, a USB socket without hardware, a USB device made
/// by configuration, and the driver on the other side.
const MODULES: [&str; 7] = [
    "snd-hrtimer",
    "snd-seq",
    "snd-seq-midi",
    "dummy_hcd",
    "libcomposite",
    "usb_f_midi",
    "snd-usb-audio",
];

/// An unpacked kernel.
pub(super) struct Kernel {
    /// The image to boot.
    pub(super) image: PathBuf,
    /// Its modules, each after those that it needs.
    pub(super) modules: Vec<PathBuf>,
}

/// Where depmod is; not every user has its folder on the path.
pub(super) fn depmod() -> Option<PathBuf> {
    let usual = ["/sbin/depmod", "/usr/sbin/depmod"].map(PathBuf::from);
    on_path("depmod").or_else(|| usual.into_iter().find(|path| path.is_file()))
}

/// Fetches the kernel that Debian would install today, unless it is there.
pub(super) fn provide(folder: &Path) -> Result<Kernel, Stop> {
    let missing = |what: &str| Stop::Missing {
        what: what.to_owned(),
        how: "sudo apt-get update, on Debian; elsewhere this rig does not run".to_owned(),
    };
    let depends = answer(Command::new("apt-cache").args(["depends", "linux-image-amd64"]))
        .ok_or_else(|| missing("There is no package linux-image-amd64 here."))?;
    let package = depends
        .lines()
        .find(|line| line.contains("Depends: linux-image-"))
        .and_then(|line| line.split_whitespace().last())
        .ok_or_else(|| missing("It is not known which kernel linux-image-amd64 brings."))?;
    let root = folder.join(package);
    if !root.join("boot").is_dir() {
        let fetched = folder.join("fetched");
        let _ = fs::remove_dir_all(&fetched);
        fs::create_dir_all(&fetched).map_err(Stop::file(&fetched))?;
        let mut fetch = Command::new("apt-get");
        run("apt-get download", fetch.args(["-q", "download", package]).current_dir(&fetched))?;
        let packages = fs::read_dir(&fetched).map_err(Stop::file(&fetched))?;
        let file = packages
            .flatten()
            .map(|entry| entry.path())
            .find(|path| path.extension().is_some_and(|ending| ending == "deb"))
            .ok_or_else(|| missing("apt-get brought no kernel."))?;
        let unpacked = folder.join("unpacking");
        let _ = fs::remove_dir_all(&unpacked);
        run("dpkg -x", Command::new("dpkg").arg("-x").arg(file).arg(&unpacked))?;
        fs::rename(&unpacked, &root).map_err(Stop::file(&root))?;
        let _ = fs::remove_dir_all(&fetched);
    }
    let version = package.trim_start_matches("linux-image-");
    let modules = root.join("lib/modules").join(version);
    let depmod = depmod().ok_or_else(|| missing("There is no depmod."))?;
    run("depmod", Command::new(depmod).arg("-b").arg(&root).arg(version))?;
    let list = modules.join("modules.dep");
    let needs = fs::read_to_string(&list).map_err(Stop::file(&list))?;
    let modules = in_order(&needs, &MODULES).iter().map(|path| modules.join(path)).collect();
    Ok(Kernel { image: root.join("boot").join(format!("vmlinuz-{version}")), modules })
}

/// The paths of these modules and of all that they need, each after what it needs. A line of
/// `modules.dep` is `path: path path …`, what is needed first standing last.
fn in_order(needs: &str, wanted: &[&str]) -> Vec<String> {
    let name = |path: &str| {
        let file = path.rsplit('/').next().unwrap_or_default();
        file.split(".ko").next().unwrap_or_default().replace('-', "_")
    };
    let mut seen = BTreeSet::new();
    let mut order = Vec::new();
    for module in wanted {
        let module = module.replace('-', "_");
        let line = needs.lines().find_map(|line| {
            let (path, needs) = line.split_once(':')?;
            (name(path) == module).then_some((path, needs))
        });
        // What is not a module is built into the kernel.
        let Some((path, needs)) = line else { continue };
        for path in needs.split_whitespace().rev().chain([path]) {
            if seen.insert(path) {
                order.push(path.to_owned());
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_module_comes_after_what_it_needs() {
        let needs = "a/snd-seq.ko: a/dev.ko a/snd.ko\na/dev.ko: a/snd.ko\na/snd.ko:\n";
        assert_eq!(
            in_order(needs, &["snd-seq", "built-in"]),
            ["a/snd.ko", "a/dev.ko", "a/snd-seq.ko"]
        );
        assert_eq!(in_order(needs, &["dev", "snd_seq"]).len(), 3);
    }
}
