//! `evenhand practice`: a player at the end of a pipe, whom nobody touches a key for.
//!
//! The player plays as it is told by the stream of events, in real time, and the course of the
//! sitting is looked at.

use std::io::Write;
use std::process::Stdio;
use std::thread;
use std::time::Duration;

use evenhand_tests::run::{Folder, command, evenhand};
use evenhand_tests::seeded::Seeded;
use serde_json::Value;

/// A bar of sixteenths, eight of them, fast enough for a test.
const STUDY: &str = "evenhand study 1\ntitle Quick steps\nmetre 2/4\ntempo 140\nchunk \"Quick\" at bar 1\n  \
     m: 1/16 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n";

const PITCHES: [u8; 8] = [43, 45, 47, 48, 50, 52, 54, 55];

/// Plays it once at about 150 a minute; with two wrong notes if it is to fail.
fn play(to: &mut impl Write, wrong: bool, seeded: &mut Seeded) {
    for (index, pitch) in PITCHES.into_iter().enumerate() {
        let pitch = if wrong && (2..4).contains(&index) { pitch + 1 } else { pitch };
        let velocity = seeded.between(78, 84) as u8;
        to.write_all(&[0x90, pitch, velocity]).unwrap();
        thread::sleep(Duration::from_millis(90));
        to.write_all(&[0x80, pitch, 64]).unwrap();
        thread::sleep(Duration::from_millis(10));
    }
    // Put the hand down, so that the attempt is over.
    thread::sleep(Duration::from_millis(900));
}

fn tempo(step: &Value) -> u64 {
    step["task"]["tempo"].as_u64().unwrap_or_else(|| panic!("a task with a tempo: {step}"))
}

#[test]
fn practice_goes_on_by_itself_and_is_kept() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let data = folder.path("data");
    let words = ["practice", &study, "--raw", "-", "--level", "first", "--events"];
    let mut practice = command(&words);
    practice.args(["--data", &data]).stdin(Stdio::piped());
    let mut child = practice.spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut seeded = Seeded::new(11);
    thread::sleep(Duration::from_millis(500));
    for wrong in [false, false, false, false, true, true] {
        play(&mut to, wrong, &mut seeded);
    }
    drop(to);
    let output = child.wait_with_output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let events: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let verdicts = events.iter().filter(|event| event["kind"] == "verdict").count();
    assert_eq!(verdicts, 6, "{out}");
    let steps: Vec<&Value> = events.iter().filter(|event| event["kind"] == "step").collect();
    let [begin, once, faster, again, fastest, slower, slowest] = steps.as_slice() else {
        panic!("one step to begin with and one an attempt: {steps:#?}");
    };
    assert!(tempo(once) == tempo(begin) && tempo(again) == tempo(faster));
    // Fewer microseconds a quarter are faster.
    assert!(tempo(faster) < tempo(begin) && tempo(fastest) < tempo(faster), "{steps:#?}");
    assert!(tempo(slower) > tempo(fastest) && tempo(slowest) > tempo(slower), "{steps:#?}");
    assert!(steps.iter().all(|step| !step["sentences"].as_array().unwrap().is_empty()));

    // What was said is kept: every attempt is in the log.
    let run = evenhand(&["history", "--data", &data, "--events"]);
    let kept = run.done().events();
    let attempts = kept.iter().filter(|event| event["kind"] == "kept-attempt").count();
    assert_eq!(attempts, 6, "{kept:#?}");
}

#[test]
fn one_line_an_attempt_and_the_next_step_under_it() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let words = ["practice", &study, "--raw", "-", "--level", "first", "--plain", "--no-log"];
    let mut child = command(&words).stdin(Stdio::piped()).spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    thread::sleep(Duration::from_millis(500));
    play(&mut to, false, &mut Seeded::new(12));
    drop(to);
    let output = child.wait_with_output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(out.starts_with("Repetition can injure"), "{out}");
    let attempt = out.lines().position(|line| line.starts_with("Quick, ")).expect("a line");
    assert!(out.lines().nth(attempt).unwrap().contains("passed"), "{out}");
    assert!(out.lines().nth(attempt + 1).unwrap().starts_with("  Clean, 1 of 2"), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 200), "{out}");
}
