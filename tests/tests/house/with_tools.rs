//! The tests with tools stand in a list of their own. `#[test]` means nothing there, so a test with
//! nothing but that would never run.

use evenhand_tests::program::workspace;
use std::fs;
use std::path::Path;

/// The files below a folder that have this in them.
fn with(folder: &Path, what: &str) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder can be read").flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(with(&path, what));
        } else if fs::read_to_string(&path).expect("source is text").contains(what) {
            found.push(path.display().to_string());
        }
    }
    found
}

#[test]
fn no_test_with_tools_is_forgotten() {
    let tests = workspace().join("tests/tests");
    let line = ["\n#[", "test]\n"].concat();
    assert_eq!(with(&tests.join("with_tools"), &line), Vec::<String>::new());
    assert!(!with(&tests.join("house"), &line).is_empty(), "it finds what it looks for");
}
