//! What the fuzzer keeps in `fuzz/corpus`, and seeded mutations of it: none may break anything.
//!
//! The long search is `cargo xtask fuzz`; this is its short repetition.

use std::path::Path;

use evenhand_tests::fuzzed::{TARGETS, Target, mutate};
use evenhand_tests::seeded::Seeded;

/// Mutations of each target's corpus.
const MUTATIONS: usize = 1_500;

fn corpus(target: &Target) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus").join(target.name);
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .collect();
    // The order in which a file system tells them is its own.
    files.sort();
    files.iter().map(|file| std::fs::read(file).unwrap()).collect()
}

fn smoke(name: &str) {
    let target = TARGETS.iter().find(|target| target.name == name).expect("a target");
    let corpus = corpus(target);
    assert!(corpus.len() >= 20, "{} inputs are no corpus", corpus.len());
    for input in &corpus {
        (target.run)(input);
    }
    let mut seeded = Seeded::new(0x0f02_2ed5);
    for _ in 0..MUTATIONS {
        let (one, other) = (seeded.index(corpus.len()), seeded.index(corpus.len()));
        let input = mutate(&corpus[one], &corpus[other], &mut seeded);
        // A panic says what broke, and this says with what.
        let shown = std::panic::catch_unwind(|| (target.run)(&input));
        assert!(shown.is_ok(), "{name} breaks with {input:02x?}");
    }
}

#[test]
fn bytes_into_a_session() {
    smoke("session");
}

#[test]
fn study_text() {
    smoke("study");
}

#[test]
fn standard_midi_files() {
    smoke("smf");
}

#[test]
fn packs_and_results() {
    smoke("pack");
}
