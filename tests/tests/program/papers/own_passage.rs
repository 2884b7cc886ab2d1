//! A newcomer's first five minutes: a study of their own, a take without a pickup, a verdict.

use evenhand_tests::run::{Folder, code, evenhand};
use std::fs;

/// A new study and where it is.
fn new_study() -> (Folder, String) {
    let folder = Folder::new();
    let study = folder.path("my.study");
    let run = evenhand(&["study", "new", &study]);
    assert!(run.done().out.contains(&format!("evenhand study check {study}\n")), "{run:?}");
    evenhand(&["study", "check", &study]).done();
    (folder, study)
}

/// What is said of a take with this fault: for each chunk the verdict and the heaviest finding.
fn told(folder: &Folder, study: &str, more: &[&str]) -> Vec<(String, String, Option<String>)> {
    let take = folder.path("take.mid");
    evenhand(&[&["study", "play", study, &take, "--replace"], more].concat()).done();
    let verdicts = evenhand(&["judge", study, &take, "--events"]).verdicts();
    let told = verdicts.into_iter();
    told.map(|one| (one.chunk, one.outcome, one.findings.first().cloned())).collect()
}

#[test]
fn a_clean_take_of_the_new_study_passes_whoever_plays() {
    let (folder, study) = new_study();
    for seed in ["1", "2", "3", "40"] {
        let told = told(&folder, &study, &["--seed", seed]);
        let passed = |chunk: &str| (chunk.to_owned(), "passed".to_owned(), None);
        assert_eq!(told, [passed("First two bars"), passed("Last two bars")], "seed {seed}");
    }
}

#[test]
fn every_fault_by_choice_is_found_for_what_it_is() {
    let (folder, study) = new_study();
    for (fault, chunk, what) in [
        ("late-note", "First two bars", "off-beat"),
        ("lost-time", "First two bars", "hesitation"),
        ("wrong-note", "First two bars", "wrong-notes"),
        ("missing-note", "First two bars", "missing-notes"),
        ("extra-note", "First two bars", "extra-notes"),
        ("soft-note", "First two bars", "soft-notes"),
        ("weak-slurs", "First two bars", "weak-slurs"),
        ("rushing", "First two bars", "drift"),
        ("spread-chord", "Last two bars", "spread-chords"),
    ] {
        let told = told(&folder, &study, &["--fault", fault]);
        assert_eq!(told.len(), 2, "{fault}: {told:?}");
        for (name, outcome, first) in told {
            if name == chunk {
                assert_eq!((outcome.as_str(), first.as_deref()), ("needs work", Some(what)));
            } else {
                assert_eq!((outcome.as_str(), first), ("passed", None), "{fault}: {name}");
            }
        }
    }
}

#[test]
fn the_study_can_be_changed_into_ones_own() {
    let (folder, study) = new_study();
    let text = fs::read_to_string(&study).unwrap();
    let own =
        text.replace("My four bars", "Mine").replace("4:2(2 i) 3:0(m) 3:2(1 i)", "4:4 3:1 3:2");
    assert_ne!(text, own);
    fs::write(&study, own).unwrap();
    let told = told(&folder, &study, &["--chunk", "first two bars", "--tempo", "60"]);
    assert_eq!(told, [("First two bars".to_owned(), "passed".to_owned(), None)]);
    // Half a bar is enough for a fault; what has no place for one is told so.
    let short = folder.write("short.study", "evenhand study 1\nchunk \"S\"\n  m: 1/2 5:0 5:2 |\n");
    let take = folder.path("short.mid");
    for fault in ["weak-slurs", "spread-chord", "late-note"] {
        evenhand(&["study", "play", &short, &take, "--fault", fault])
            .refused(code::USAGE, &["short.study", fault, "It needs a"]);
        assert!(!fs::exists(&take).unwrap());
    }
}

#[test]
fn what_is_there_stays() {
    let (folder, study) = new_study();
    fs::write(&study, "mine").unwrap();
    evenhand(&["study", "new", &study]).refused(code::OUTPUT, &["is there already", "--replace"]);
    assert_eq!(fs::read(&study).unwrap(), b"mine");
    evenhand(&["study", "new", &study, "--replace"]).done();
    let take = folder.write("take.mid", "mine");
    evenhand(&["study", "play", &study, &take]).refused(code::OUTPUT, &["--replace"]);
    // Not even with --replace: it would be gone.
    evenhand(&["study", "play", &study, &study, "--replace"]).refused(code::USAGE, &["my.study"]);
    assert!(fs::read_to_string(&study).unwrap().starts_with("evenhand study 2"));
}
