//! The core as a package that others could take: it is packed and built from what is packed.
//!
//! The program is none: its demo holds studies and recordings that lie outside of its folder, so it is
//! installed from a checkout (`cargo install --path host-cli`).

use evenhand_tests::program::{cargo, workspace};
use std::process::Command;

fn output(command: &mut Command) -> String {
    let output = command.output().expect("cargo can be started");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {complaint}");
    String::from_utf8(output.stdout).expect("cargo writes text")
}

const PACKAGE: [&str; 5] = ["package", "--package", "evenhand-core", "--allow-dirty", "--quiet"];

/// What a package must have and has not.
fn lacking(files: &str) -> Vec<&'static str> {
    ["LICENSE", "README.md", "Cargo.toml", "Cargo.lock", "src/lib.rs"]
        .into_iter()
        .filter(|wanted| !files.lines().any(|file| file == *wanted))
        .collect()
}

#[test]
fn the_core_is_packed_and_builds_from_what_is_packed() {
    let files = output(cargo().args(PACKAGE).arg("--list"));
    assert_eq!(lacking(&files), Vec::<&str>::new(), "{files}");
    assert_eq!(lacking("LICENSE\nsrc/lib.rs\n"), ["README.md", "Cargo.toml", "Cargo.lock"]);
    output(cargo().args(PACKAGE));
}

#[test]
fn the_licence_in_the_package_is_that_of_the_house() {
    let read = |path: &str| {
        std::fs::read_to_string(workspace().join(path))
            .expect("there is a licence")
            .replace('\r', "")
    };
    assert_eq!(read("core/LICENSE"), read("LICENSE"));
}
