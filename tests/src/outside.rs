//! The references from outside the project: a Python with numpy, scipy and mir_eval, and data.
//!
//! `cargo xtask setup` makes the folder. A test that needs it fails without it and never skips.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The folder with the outside references.
pub fn folder() -> PathBuf {
    match std::env::var_os("EVENHAND_OUTSIDE") {
        Some(folder) => PathBuf::from(folder),
        None => crate::program::workspace().join("target/outside"),
    }
}

/// The text of a data file in that folder.
///
/// # Panics
/// If it is missing or is no text; the message says what to do.
pub fn data(name: &str) -> String {
    let path = folder().join("data").join(name);
    std::fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("cannot read {}: {error}. {}", path.display(), advice()))
}

/// The folder of a library of the Python.
///
/// # Panics
/// If it is not there; the message says what to do.
pub fn library(name: &str) -> PathBuf {
    let folders = folder().join("lib").read_dir().into_iter().flatten().flatten();
    let libraries = folders.map(|folder| folder.path().join("site-packages").join(name));
    libraries
        .into_iter()
        .find(|path| path.is_dir())
        .unwrap_or_else(|| panic!("there is no library {name}. {}", advice()))
}

/// Runs `tests/outside/<script>` with `question` as JSON on its input and returns the JSON that
/// it prints. Meant for one batch, since starting Python takes longer than most questions.
///
/// # Panics
/// If Python or a package is missing, or the script fails; the message says what to do.
pub fn ask(script: &str, question: &serde_json::Value) -> serde_json::Value {
    let python = folder().join("bin/python");
    assert!(python.exists(), "there is no {}. {}", python.display(), advice());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside").join(script);
    let mut child = Command::new(&python)
        .arg(&script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("cannot start {}: {error}. {}", python.display(), advice()));
    // The scripts read all of their input before they print, so this cannot block for ever. An
    // error here means that the script ended early; its own message, below, says why.
    let written =
        child.stdin.take().expect("input is piped").write_all(question.to_string().as_bytes());
    let output = child.wait_with_output().expect("the script can be waited for");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success() && written.is_ok(),
        "{} failed ({}): {complaint}\n{}",
        script.display(),
        output.status,
        advice()
    );
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{} printed no JSON: {error}", script.display()))
}

fn advice() -> String {
    format!(
        "Run `cargo xtask setup`, which makes {}, or set EVENHAND_OUTSIDE to the folder it made.",
        folder().display()
    )
}
