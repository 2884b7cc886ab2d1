use super::voice::find;
use super::{Speech, SpeechProblem, SpokenAttempts, aloud, verdict};
use evenhand_core::verdict::Outcome;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Nobody waits longer than this in a test.
const LONG: Duration = Duration::from_secs(20);

#[cfg(unix)]
fn voice(folder: &Path, name: &str, script: &str) -> PathBuf {
    // By another process: what is held open for writing, by a child that another test has just started, too, is
    // not run.
    let path = folder.join(name);
    let write = "printf '#!/bin/sh\\n%s\\n' \"$2\" > \"$1\" && chmod 755 \"$1\"";
    let mut shell = std::process::Command::new("sh");
    let done = shell.args(["-c", write, "sh"]).arg(&path).arg(script).status().unwrap();
    assert!(done.success());
    path
}

#[test]
fn a_verdict_is_said_in_two_or_three_words() {
    assert_eq!(verdict(Outcome::NeedsWork, None), "needs work");
    assert_eq!(verdict(Outcome::Passed, Some(66)), "passed, 66");
    assert_eq!(verdict(Outcome::Unclear, None), "unclear");
}

#[test]
fn signs_are_said_and_no_text_is_an_option() {
    let said = aloud("--wav “A” came 62 ms late, 3.5 dB soft: F#3 at beat 2 1/2.\u{1b}[1m");
    assert_eq!(
        said,
        "wav A came 62 milliseconds late, 3.5 decibels soft: F sharp 3 at beat 2 and a half.[1m"
    );
    assert_eq!(aloud("-–("), "");
}

#[test]
fn after_which_attempts_something_is_said() {
    let said = |which: SpokenAttempts| {
        (1..=6).filter(|attempt| which.has(*attempt, attempt % 2 == 0)).collect::<Vec<u32>>()
    };
    assert_eq!(said(SpokenAttempts::Every(1)), [1, 2, 3, 4, 5, 6]);
    assert_eq!(said(SpokenAttempts::Every(3)), [3, 6]);
    assert_eq!(said(SpokenAttempts::Passed), [2, 4, 6]);
}

#[cfg(unix)]
#[test]
fn the_text_is_one_argument_and_goes_through_no_shell() {
    let folder = tempfile::tempdir().unwrap();
    let told = folder.path().join("told");
    let script = format!("printf '%s|' \"$#\" \"$@\" > '{}'", told.display());
    let program = voice(folder.path(), "espeak-ng", &script);
    assert_eq!(find(&[folder.path().to_owned()]), Some(program.clone()));
    let mut speech = Speech::of(Some(program));
    speech.say("passed; $(touch x) `touch y` 'z'", LONG).unwrap();
    speech.finish();
    let told = std::fs::read_to_string(told).unwrap();
    assert_eq!(told, "1|passed; $(touch x) `touch y` 'z'|");
}

#[cfg(unix)]
#[test]
fn a_voice_that_hangs_is_ended_and_another_word_ends_the_one_before() {
    let folder = tempfile::tempdir().unwrap();
    let program = voice(folder.path(), "say", "exec sleep 60");
    let mut speech = Speech::of(Some(program));
    let begun = Instant::now();
    speech.say("needs work", Duration::from_millis(50)).unwrap();
    speech.say("needs work", Duration::from_millis(50)).unwrap();
    speech.finish();
    assert!(begun.elapsed() < LONG && !speech.is_speaking());
}

#[cfg(unix)]
#[test]
fn where_there_is_no_voice_it_is_said_with_what_to_do() {
    assert_eq!(find(&[]), None);
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("espeak-ng"), "text that nobody may run").unwrap();
    assert_eq!(find(&[folder.path().to_owned()]), None);
    let mut speech = Speech::of(None);
    let problem = speech.say("passed", LONG).unwrap_err();
    assert_eq!(problem, SpeechProblem::NoVoice);
    assert!(problem.to_string().contains("Install espeak-ng"), "{problem}");
    // One that cannot be started is not tried again.
    let mut speech = Speech::of(Some(folder.path().join("espeak-ng")));
    assert!(matches!(speech.say("passed", LONG), Err(SpeechProblem::NotStarted(..))));
    assert_eq!(speech.say("passed", LONG), Err(SpeechProblem::NoVoice));
}
