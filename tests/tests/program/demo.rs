//! `evenhand demo` says what is in the bundled recordings, and looks as it was last looked at.

use evenhand_core::player::Fault;
use evenhand_tests::performances::takes;
use evenhand_tests::program::workspace;
use evenhand_tests::run::evenhand;
use std::fs;

/// Compares with a kept file, or writes it if `EVENHAND_BLESS` is set.
fn compare(name: &str, now: &str) {
    let path = workspace().join("tests/golden").join(name);
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        fs::write(&path, now).unwrap();
        return;
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    if kept == now {
        return;
    }
    let first = kept.lines().zip(now.lines()).position(|(kept, now)| kept != now);
    let line = first.unwrap_or_else(|| kept.lines().count().min(now.lines().count()));
    panic!(
        "{} differs from line {}:\n  kept: {}\n  now:  {}\nLook at the whole change; if it is \
         right, run with EVENHAND_BLESS=1.",
        path.display(),
        line + 1,
        kept.lines().nth(line).unwrap_or("(its end)"),
        now.lines().nth(line).unwrap_or("(its end)"),
    );
}

#[test]
fn the_demo_looks_as_it_was_last_looked_at() {
    let run = evenhand(&["demo"]);
    compare("demo.txt", &run.done().out);
    let events = evenhand(&["demo", "--events"]);
    compare("demo.jsonl", &events.done().out);
}

#[test]
fn the_demo_fits_a_page_and_a_pipe() {
    let run = evenhand(&["demo"]);
    for line in run.done().out.lines() {
        assert!(line.chars().count() <= 80, "over 80 columns: {line}");
        assert!(!line.contains('\u{1b}'), "an escape in a pipe: {line:?}");
    }
}

/// Runs the demo on a terminal, which `script` (util-linux) provides.
#[cfg(target_os = "linux")]
fn on_a_terminal(variables: &[(&str, &str)]) -> String {
    let program = evenhand_tests::program::path().display();
    let mut script = std::process::Command::new("script");
    script.args(["--quiet", "--return", "--command", &format!("'{program}' demo"), "/dev/null"]);
    script.env_remove("NO_COLOR").env("TERM", "xterm").envs(variables.iter().copied());
    let output = script.output().expect("script can be started");
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).expect("what is written is UTF-8")
}

#[test]
#[cfg(target_os = "linux")]
fn colours_are_for_terminals_that_want_them() {
    let accents = on_a_terminal(&[]);
    assert!(accents.contains("\u{1b}[1;34mPASSED\u{1b}[0m"), "{accents:?}");
    for plain in [&[("NO_COLOR", "1")], &[("TERM", "dumb")]] {
        let shown = on_a_terminal(plain);
        assert!(!shown.contains('\u{1b}'), "{plain:?}: {shown:?}");
        assert_eq!(shown.replace('\r', ""), evenhand(&["demo"]).out);
    }
    // Nothing is told by colour alone.
    let mut bare = String::new();
    for (index, part) in accents.split("\u{1b}[").enumerate() {
        let after = part.split_once('m').map_or("", |(_, after)| after);
        bare += if index == 0 { part } else { after };
    }
    assert_eq!(bare.replace('\r', ""), evenhand(&["demo"]).out);
}

/// What each take must be told to be, from the faults that it was made with.
#[test]
fn every_fault_of_the_demo_is_found() {
    let verdicts = evenhand(&["demo", "--events"]).verdicts();
    let takes = takes();
    assert_eq!(verdicts.len(), takes.len(), "one attempt a recording: {verdicts:#?}");
    let words = evenhand(&["demo"]).out;
    let headlines: Vec<&str> = words
        .lines()
        .filter(|line| {
            ["PASSED", "NEEDS WORK", "UNCLEAR"].iter().any(|word| line.starts_with(word))
        })
        .collect();
    assert_eq!(headlines.len(), takes.len(), "{headlines:#?}");
    for (take, verdict) in takes.iter().zip(&verdicts) {
        assert_eq!(verdict.chunk, take.chunk, "{}", take.file);
        let (outcome, first) = match take.faults.as_slice() {
            [] => ("passed", None),
            [Fault::WeakSlurs(_)] => ("needs work", Some("weak-slurs")),
            [Fault::Hesitation { .. }] => ("needs work", Some("hesitation-at-shift")),
            [Fault::Wrong { .. }] => ("needs work", Some("wrong-notes")),
            [Fault::Missing(_)] => ("needs work", Some("missing-notes")),
            [Fault::Spread { .. }] => ("needs work", Some("spread-chords")),
            [Fault::Drift(_)] => ("needs work", Some("drift")),
            [Fault::Missing(_), ..] => ("unclear", Some("broken-off")),
            other => panic!("{}: say what {other:?} must be told to be", take.file),
        };
        assert_eq!(verdict.outcome, outcome, "{}: {verdict:?}", take.file);
        let headline = format!("{}  {}, bar", outcome.to_uppercase(), take.chunk);
        assert!(headlines.iter().any(|line| line.starts_with(&headline)), "no {headline}");
        assert_eq!(verdict.findings.first().map(String::as_str), first, "{}", take.file);
    }
}
