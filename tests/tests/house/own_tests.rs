//! The program's own tests. It is no member of what plain `cargo test` builds, because as a user
//! installs it it wants ALSA's headers; so they are built here without live ports and sound.
//! `cargo xtask test` runs them by themselves and leaves this one out.

use evenhand_tests::program::cargo;

#[test]
fn the_program_passes_its_own_tests() {
    let output = cargo()
        .args(["test", "--package", "evenhand", "--no-default-features", "--quiet"])
        .output()
        .expect("cargo can be started");
    let (said, complaint) =
        (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{said}\n{complaint}");
    let results = said.lines().filter(|line| line.starts_with("test result: ok."));
    println!("{}", results.clone().collect::<Vec<_>>().join("\n"));
    let passed = |line: &str| -> Option<u32> { line.split(' ').nth(3)?.parse().ok() };
    let all: u32 = results.filter_map(passed).sum();
    assert!(all > 100, "{all} tests are not all of them:\n{said}");
}
