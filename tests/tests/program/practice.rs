//! `evenhand practice`: a player at the end of a pipe, whom nobody touches a key for, in time that the
//! player tells. The course of the sitting is looked at.

use std::fmt::Write;

use evenhand_tests::run::{Folder, Run, command, evenhand};
use evenhand_tests::seeded::Seeded;
use serde_json::Value;

/// A bar of sixteenths, eight of them, fast enough for a test.
const STUDY: &str = "evenhand study 1\ntitle Quick steps\nmetre 2/4\ntempo 140\nchunk \"Quick\" at bar 1\n  \
     m: 1/16 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n";

const PITCHES: [u8; 8] = [43, 45, 47, 48, 50, 52, 54, 55];

/// A stream of lines with times, and the time at its end in milliseconds.
#[derive(Default)]
struct Player {
    lines: String,
    now: u64,
}

impl Player {
    fn send(&mut self, [status, pitch, velocity]: [u8; 3]) {
        writeln!(self.lines, "{}000 {status:02x} {pitch:02x} {velocity:02x}", self.now).unwrap();
    }

    fn wait(&mut self, millis: u64) {
        self.now += millis;
        writeln!(self.lines, "{}000", self.now).unwrap();
    }

    /// Plays it once at about 150 a minute; with two wrong notes if it is to fail.
    fn play(&mut self, wrong: bool, seeded: &mut Seeded) {
        for (index, pitch) in PITCHES.into_iter().enumerate() {
            let pitch = if wrong && (2..4).contains(&index) { pitch + 1 } else { pitch };
            self.send([0x90, pitch, seeded.between(78, 84) as u8]);
            self.wait(90);
            self.send([0x80, pitch, 64]);
            self.wait(10);
        }
        // Put the hand down, so that the attempt is over.
        self.wait(900);
    }
}

fn tempo(step: &Value) -> u64 {
    step["task"]["tempo"].as_u64().unwrap_or_else(|| panic!("a task with a tempo: {step}"))
}

#[test]
fn practice_goes_on_by_itself_and_is_kept() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let data = folder.path("data");
    let words = ["practice", &study, "--timed", "-", "--level", "first", "--events"];
    let (mut player, mut seeded) = (Player::default(), Seeded::new(11));
    player.wait(500);
    for wrong in [false, true, false, true, true] {
        player.play(wrong, &mut seeded);
    }
    let run = Run::of(command(&words).args(["--data", &data]), player.lines.into_bytes());
    let events = run.done().events();
    let verdicts = events.iter().filter(|event| event["kind"] == "verdict").count();
    assert_eq!(verdicts, 5, "{events:#?}");
    let steps: Vec<&Value> = events.iter().filter(|event| event["kind"] == "step").collect();
    let [begin, leap, back, once, slower, slowest] = steps.as_slice() else {
        panic!("one step to begin with and one an attempt: {steps:#?}");
    };
    assert!(tempo(back) == tempo(begin) && tempo(once) == tempo(back));
    // Fewer microseconds a quarter are faster.
    assert!(tempo(leap) < tempo(begin), "{steps:#?}");
    assert!(tempo(slower) > tempo(once) && tempo(slowest) > tempo(slower), "{steps:#?}");
    assert!(steps.iter().all(|step| !step["sentences"].as_array().unwrap().is_empty()));

    // What was said is kept: every attempt is in the log.
    let run = evenhand(&["history", "--data", &data, "--events"]);
    let kept = run.done().events();
    let attempts = kept.iter().filter(|event| event["kind"] == "kept-attempt").count();
    assert_eq!(attempts, 5, "{kept:#?}");
}

#[test]
fn who_plays_twice_as_fast_as_asked_is_at_the_goal() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let words = ["practice", &study, "--timed", "-", "--level", "first", "--events", "--no-log"];
    let (mut player, mut seeded) = (Player::default(), Seeded::new(13));
    player.wait(500);
    for _ in 0..3 {
        player.play(false, &mut seeded);
    }
    let run = Run::of(&mut command(&words), player.lines.into_bytes());
    let steps: Vec<Value> =
        run.events().into_iter().filter(|event| event["kind"] == "step").collect();
    assert!(steps.len() == 3 && steps[2]["reason"] == "all-at-goal", "{steps:#?}");
}

#[test]
fn one_line_an_attempt_and_the_next_step_under_it() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let words = ["practice", &study, "--timed", "-", "--level", "first", "--plain", "--no-log"];
    let mut player = Player::default();
    player.wait(500);
    player.play(false, &mut Seeded::new(12));
    let run = Run::of(&mut command(&words), player.lines.into_bytes());
    let out = &run.out;
    assert!(out.starts_with("Repetition can injure"), "{out}");
    let attempt = out.lines().position(|line| line.starts_with("Quick, ")).expect("a line");
    assert!(out.lines().nth(attempt).unwrap().contains("passed"), "{out}");
    assert!(
        out.lines().nth(attempt + 1).unwrap().starts_with("  Clean at 84 straight away."),
        "{out}"
    );
    assert!(out.lines().all(|line| line.chars().count() <= 200), "{out}");
}

/// What now is, and what was spoken by a voice that writes it down.
#[cfg(unix)]
#[test]
fn the_events_tell_what_now_is_and_what_was_spoken() {
    let folder = Folder::new();
    let study = folder.write("quick.study", STUDY);
    let told = folder.path("told");
    let path = folder.voice(&format!("echo \"$1\" >> '{told}'"));
    let practise = |when: &str, attempts: &[bool]| {
        let words = [
            "practice", &study, "--timed", "-", "--level", "first", "--events", "--no-log",
            "--speak", when,
        ];
        let (mut player, mut seeded) = (Player::default(), Seeded::new(11));
        player.wait(500);
        for wrong in attempts {
            player.play(*wrong, &mut seeded);
            player.wait(3_000);
        }
        let mut command = command(&words);
        Run::of(command.env("PATH", &path), player.lines.into_bytes()).done().events()
    };
    let of = |events: &[Value], kind: &str, field: &str| -> Vec<String> {
        let events = events.iter().filter(|event| event["kind"] == kind);
        events.map(|event| event[field].as_str().unwrap().to_owned()).collect()
    };
    let events = practise("every", &[false, true]);
    let states = of(&events, "now", "state");
    let attempt = ["playing", "heard-to-the-end", "verdict"];
    assert_eq!(states, [&["play"][..], &attempt, &attempt].concat(), "{events:#?}");
    let spoken = of(&events, "spoken", "words");
    assert!(spoken[0].starts_with("passed, ") && spoken[1].starts_with("needs work"), "{spoken:?}");
    let heard = |from: usize| -> Vec<String> {
        std::fs::read_to_string(&told).unwrap().lines().skip(from).map(str::to_owned).collect()
    };
    assert_eq!(heard(0), spoken);
    let spoken = of(&practise("2", &[true, false, true]), "spoken", "words");
    assert!(spoken.len() == 1 && spoken[0].starts_with("passed"), "{spoken:?}");
    let spoken = of(&practise("passed", &[true, false, true]), "spoken", "words");
    assert!(spoken.len() == 1 && spoken[0].starts_with("passed"), "{spoken:?}");
    assert_eq!(heard(2).len(), 2);
    for wrong in ["0", "256", "never"] {
        let run = evenhand(&["practice", &study, "--speak", wrong]);
        let says = run.err.contains("write every, passed, or a whole number from 1 to 255");
        assert!(run.code == 2 && says, "{run:?}");
    }
}
