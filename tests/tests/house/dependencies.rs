//! What others have made of the program: licences and sources are those that `deny.toml` allows, no
//! library wants a newer compiler than is promised, and the notices are those of what is built.

use evenhand_tests::dependencies::{Allowed, Library, NOTICES, notices, shipped};
use evenhand_tests::program::workspace;
use std::collections::BTreeSet;

/// `rust-version` in Cargo.toml.
fn promised() -> (u32, u32) {
    let manifest = std::fs::read_to_string(workspace().join("Cargo.toml")).expect("it is there");
    let line = manifest.lines().find_map(|line| line.strip_prefix("rust-version = "));
    version(line.expect("it is promised").trim_matches('"'))
}

fn version(text: &str) -> (u32, u32) {
    let mut numbers = text.split('.').map(|number| number.parse().expect("a number"));
    (numbers.next().expect("a version"), numbers.next().unwrap_or(0))
}

fn too_new(libraries: &BTreeSet<Library>, promised: (u32, u32)) -> Vec<String> {
    let wants = |library: &&Library| {
        library.rust_version.as_deref().is_some_and(|wanted| version(wanted) > promised)
    };
    libraries
        .iter()
        .filter(wants)
        .map(|library| {
            format!("{} {} wants {:?}", library.name, library.version, library.rust_version)
        })
        .collect()
}

#[test]
fn libraries_are_allowed_old_enough_and_named() {
    let (libraries, allowed) = (shipped(), Allowed::kept());
    assert!(libraries.len() > 50, "{} are not all of them", libraries.len());
    assert_eq!(allowed.faults(&libraries), Vec::<String>::new());

    assert_eq!(too_new(&libraries, promised()), Vec::<String>::new());
    assert!(!too_new(&libraries, (1, 10)).is_empty(), "an older promise would not hold");

    let (kept, now) = (
        std::fs::read_to_string(workspace().join(NOTICES)).unwrap_or_default(),
        notices(&libraries, &allowed),
    );
    let differs = kept.lines().zip(now.lines()).find(|(kept, now)| kept != now);
    assert!(
        kept.replace('\r', "") == now,
        "{NOTICES} is not that of what is built: run `cargo xtask notices` ({differs:?})"
    );
    let fewer: BTreeSet<Library> = libraries.into_iter().skip(1).collect();
    assert_ne!(notices(&fewer, &allowed), now, "a library less is seen");
}
