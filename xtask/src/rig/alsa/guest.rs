//! The guest's file system, all of it in memory.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::kernel::Kernel;
use crate::places;
use crate::process::{Stop, answer, on_path, run};

/// What is practised: two chunks of a bar, two notes a second, which is what a shell can play in a
/// translated machine.
const TWO: &str = "evenhand study 1\ntitle Two bars\nmetre 4/4\ntempo 60\nlevel first\n\
     chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n\
     chunk \"On\" at bar 2\n  m: 1/8 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n";

/// A busybox that needs no libraries.
pub(super) fn busybox() -> Option<PathBuf> {
    let usual = PathBuf::from("/bin/busybox");
    on_path("busybox").or_else(|| Some(usual).filter(|path| path.is_file()))
}

/// Packs the program, its libraries and what it needs of ALSA together with the script.
pub(super) fn pack(folder: &Path, program: &Path, kernel: &Kernel) -> Result<PathBuf, Stop> {
    let root = folder.join("root");
    let _ = fs::remove_dir_all(&root);
    for name in ["bin", "modules", "usr/share", "proc", "sys", "dev"] {
        let made = root.join(name);
        fs::create_dir_all(&made).map_err(Stop::file(&made))?;
    }
    let missing = || Stop::Missing {
        what: "There is no busybox.".to_owned(),
        how: crate::machine::install_line(&[&super::GUEST]),
    };
    copy(&busybox().ok_or_else(missing)?, &root.join("bin/busybox"))?;
    copy(program, &root.join("evenhand"))?;
    copy(&places::root().join("fixtures/studies/small.study"), &root.join("small.study"))?;
    for library in libraries(program) {
        let inside = root.join(library.trim_start_matches('/'));
        if let Some(parent) = inside.parent() {
            fs::create_dir_all(parent).map_err(Stop::file(parent))?;
        }
        copy(Path::new(&library), &inside)?;
    }
    let mut order = String::new();
    for module in &kernel.modules {
        let name = module.file_name().unwrap_or_default();
        copy(module, &root.join("modules").join(name))?;
        order.push_str(&format!("{}\n", name.display()));
    }
    let list = root.join("modules/order");
    fs::write(&list, order).map_err(Stop::file(&list))?;
    let mut alsa = Command::new("cp");
    run("cp", alsa.arg("-rL").arg("/usr/share/alsa").arg(root.join("usr/share")))?;
    let sitting = [("practice.sh", include_str!("practice.sh")), ("two.study", TWO)];
    for (name, text) in sitting {
        let file = root.join(name);
        fs::write(&file, text).map_err(Stop::file(&file))?;
    }
    let init = root.join("init");
    fs::write(&init, include_str!("init.sh")).map_err(Stop::file(&init))?;
    run("chmod", Command::new("chmod").arg("755").arg(&init))?;
    let initrd = folder.join("initrd");
    let out = fs::File::create(&initrd).map_err(Stop::file(&initrd))?;
    let mut pack = Command::new("sh");
    pack.args(["-c", "find . | cpio -o -H newc --quiet"]).current_dir(&root);
    run("cpio", pack.stdin(Stdio::null()).stdout(out))?;
    Ok(initrd)
}

fn copy(from: &Path, to: &Path) -> Result<(), Stop> {
    fs::copy(from, to).map(|_| ()).map_err(Stop::file(from))
}

/// The libraries of a program, by the loader itself; it is one of them.
fn libraries(program: &Path) -> Vec<String> {
    let listed = answer(Command::new("ldd").arg(program)).unwrap_or_default();
    let path =
        |line: &str| line.split_whitespace().find(|word| word.starts_with('/')).map(str::to_owned);
    listed.lines().filter_map(path).collect()
}
