//! Two switches, and the guitar alone, for everything that can be asked for in practice.

use crate::hands_free::{STUDY, at, told};
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::units::Offset;
use evenhand_tests::run::{Folder, Run, code};
use evenhand_tests::told::{Told, task};
use serde_json::Value;
use std::fmt::Write as _;

/// The open strings 6, 1, 6 and 1.
const FIGURE: [u8; 4] = [40, 64, 40, 64];

fn shown(folder: &Folder) -> String {
    let run = Run::of(&mut at(folder, &["footswitch", "--show"]), vec![]);
    run.done();
    run.out
}

/// Two controllers that are held as long as a foot stays.
const HELD: &str =
    "1000000 b0 40 7f\n2000000 b0 40 00\n4000000 b0 42 7f\n4900000 b0 42 00\n6000000\n";

/// Two that say at once that they have been let go, as some pedals do.
const PRESSED: &str = "1000000 b0 40 7f\n1001000 b0 40 00\n4000000 c2 05\n6000000\n";

#[test]
fn two_switches_are_learnt_with_what_they_can_say() {
    let folder = Folder::new();
    let learnt = told(&folder, &["footswitch", "--two"], HELD);
    learnt.done();
    for line in [
        "left: control 64 on channel 1",
        "right: control 66 on channel 1",
        "left held: leave, both held: it hurts",
        "While something is offered: left: less of it",
    ] {
        assert!(learnt.out.contains(line), "no “{line}” in\n{}", learnt.out);
    }
    assert!(learnt.out.ends_with(&shown(&folder)), "{}", learnt.out);
    let learnt = told(&folder, &["footswitch", "--two"], PRESSED);
    learnt.done();
    assert!(learnt.out.contains("both twice when it hurts"), "{}", learnt.out);
    assert!(shown(&folder).contains("left three times: leave, both twice: it hurts"));
    // One of them only, or the same twice, is not kept.
    let before = shown(&folder);
    told(&folder, &["footswitch", "--two"], "1000000 b0 41 7f\n1900000 b0 41 00\n20000000\n")
        .refused(code::LIVE, &["right switch", "is as it was"]);
    assert_eq!(shown(&folder), before);
}

#[test]
fn settings_with_one_switch_of_two_are_put_right_by_learning_them_anew() {
    let folder = Folder::new();
    told(&folder, &["footswitch", "--two"], HELD).done();
    let file = folder.path("settings/settings.txt");
    let text = std::fs::read_to_string(&file).expect("settings");
    let text: String = text
        .lines()
        .filter(|line| !line.starts_with("switch-left"))
        .fold(String::new(), |text, line| text + line + "\n");
    std::fs::write(&file, text).expect("written");
    Run::of(&mut at(&folder, &["footswitch", "--show"]), vec![])
        .refused(code::INPUT, &["settings.txt", "switch-left", "no other"]);
    told(&folder, &["footswitch", "--two"], HELD).done();
    assert!(shown(&folder).contains("left: control 64"));
}

const LOST: Offset = Offset::from_millis(500);
const HESITATES: Fault = Fault::Hesitation { note: 3, lost: LOST };

/// Somebody who practises the study with what this folder's settings know.
struct Player {
    practice: Told,
    step: Value,
    chunk: u64,
}

impl Player {
    fn begin(folder: &Folder, more: &[&str]) -> Self {
        let study = folder.write("two.study", STUDY);
        let words: Vec<_> =
            ["practice", &study, "--no-log"].into_iter().chain(more.iter().copied()).collect();
        let mut practice = Told::start(&mut at(folder, &words));
        practice.wait(1_000_000);
        let step = practice.until("step").expect("a step").pop().expect("it");
        Self { practice, step, chunk: 0 }
    }

    /// The next step.
    fn next(&mut self) -> (Vec<Value>, String) {
        let events = self.practice.until("step").expect("a step");
        self.step = events.last().expect("it").clone();
        self.chunk = self.step["task"]["piece"]["chunk"].as_u64().unwrap_or(self.chunk);
        let reason = &self.step["reason"];
        let word = reason.as_str().map(str::to_owned).unwrap_or_else(|| {
            reason.as_object().and_then(|of| of.keys().next().cloned()).expect("a reason")
        });
        (events, word)
    }

    /// A controller goes down and comes up again after so many milliseconds.
    fn steps(&mut self, number: u8, millis: u64) {
        self.practice.send(&[0xb0, number, 127]);
        self.practice.wait(millis * 1_000);
        self.practice.send(&[0xb0, number, 0]);
        self.practice.wait(600_000);
    }

    fn both(&mut self, millis: u64) {
        self.practice.send(&[0xb0, 64, 127]);
        self.practice.wait(50_000);
        self.practice.send(&[0xb0, 66, 127]);
        self.practice.wait(millis * 1_000);
        self.practice.send(&[0xb0, 64, 0]);
        self.practice.send(&[0xb0, 66, 0]);
        self.practice.wait(100_000);
    }

    fn plays(&mut self, faults: &[Fault], seed: u64) {
        let chunks = evenhand::study::parse(STUDY).expect("a study").prepare().expect("chunks");
        let chunk = &chunks[usize::try_from(self.chunk).expect("small")];
        let tempo = task(&self.step).expect("something is played").tempo;
        let played = perform(&chunk.chunk(), tempo, Skill::SKILLED, faults, seed);
        self.practice.play(played.notes(), 4_000_000);
    }

    fn figure(&mut self, then: Option<u8>) {
        for pitch in FIGURE {
            self.practice.send(&[0x90, pitch, 90]);
            self.practice.wait(250_000);
            self.practice.send(&[0x80, pitch, 0]);
        }
        self.practice.wait(1_500_000);
        if let Some(pitch) = then {
            self.practice.send(&[0x90, pitch, 90]);
            self.practice.wait(300_000);
            self.practice.send(&[0x80, pitch, 0]);
        }
    }
}

#[test]
fn two_switches_do_everything() {
    let folder = Folder::new();
    told(&folder, &["footswitch", "--two"], HELD).done();
    let mut player = Player::begin(&folder, &[]);
    player.steps(66, 200);
    assert_eq!(player.next().1, "taken");
    assert_eq!(player.chunk, 1, "right: next");
    player.steps(64, 200);
    // Again: nothing new is said of it.
    player.steps(64, 100);
    player.practice.send(&[0xb0, 64, 127]);
    player.practice.wait(200_000);
    player.practice.send(&[0xb0, 64, 0]);
    player.practice.wait(200_000);
    player.steps(64, 100);
    assert_eq!(player.next().1, "taken");
    assert_eq!(player.chunk, 0, "left twice: back");
    // What else? Then less of it.
    player.steps(66, 1_000);
    let asked = player.practice.until("choices").expect("what can be chosen");
    let asked = asked.last().expect("it");
    let offered: Vec<_> = asked["choices"].as_array().expect("choices").iter().collect();
    assert!(offered.iter().any(|choice| *choice == "shorter"), "{offered:?}");
    assert!(asked["ways"].as_str().expect("a line").starts_with("left: less of it"), "{asked}");
    player.steps(64, 200);
    assert_eq!(player.next().1, "chosen");
    assert!(player.step["task"]["piece"]["half"].is_array(), "{}", player.step);
    // That has been chosen: the left switch means again, and the right one next.
    player.steps(66, 200);
    assert_eq!(player.next().1, "taken");
    // That was right, said after an attempt that needs work.
    player.plays(&[HESITATES], 3);
    assert_eq!(player.next().1, "slower");
    player.both(300);
    assert_eq!(player.next().1, "taken-back");
    player.practice.send(&[0xb0, 64, 127]);
    player.practice.send(&[0xb0, 66, 127]);
    player.practice.wait(1_300_000);
    assert_eq!(player.next().1, "hurts");
    let (rest, errors) = player.practice.end();
    assert_eq!(errors, "");
    assert!(rest.iter().all(|event| event["kind"] != "attempt"), "{rest:?}");
}

/// With a voice that is a script.
#[cfg(unix)]
#[test]
fn right_twice_has_it_said() {
    let folder = Folder::new();
    told(&folder, &["footswitch", "--two"], HELD).done();
    let study = folder.write("two.study", STUDY);
    let mut command = at(&folder, &["practice", &study, "--no-log"]);
    command.env("PATH", folder.voice("true"));
    let mut practice = Told::start(&mut command);
    practice.wait(1_000_000);
    let step = practice.until("step").expect("a step").pop().expect("it");
    let mut player = Player { practice, step, chunk: 0 };
    player.plays(&[HESITATES], 3);
    assert_eq!(player.next().1, "slower");
    for _ in 0..2 {
        player.practice.send(&[0xb0, 66, 127]);
        player.practice.wait(100_000);
        player.practice.send(&[0xb0, 66, 0]);
        player.practice.wait(100_000);
    }
    let events = player.practice.until("spoken").expect("it is said");
    let words = events.last().expect("it")["words"].as_str().expect("words");
    assert!(words.contains("lost") && words.contains("A little slower"), "{words}");
}

#[test]
fn what_is_offered_is_chosen_by_foot_until_it_lapses() {
    let folder = Folder::new();
    told(&folder, &["footswitch", "--two"], HELD).done();
    for lapses in [false, true] {
        let mut player = Player::begin(&folder, &["--by-steps", "--sound", "none"]);
        let mut offers = 0;
        for seed in 0..20 {
            let note = u16::try_from(1 + seed % 6).expect("small");
            player.plays(&[Fault::Hesitation { note, lost: LOST }], seed);
            player.next();
            offers = player.step["choices"].as_array().map_or(0, Vec::len);
            if offers > 0 {
                break;
            }
        }
        assert!(offers > 1, "something is offered: {}", player.step);
        if lapses {
            // Who plays on takes none: the left switch means again.
            player.plays(&[], 77);
            player.next();
            assert_eq!(player.step["choices"], Value::Array(vec![]), "{}", player.step);
        }
        player.steps(64, 200);
        player.steps(66, 200);
        // Without a lapse the first step chose less of it, and the second goes on to the next chunk.
        let first = player.next().1;
        assert_eq!(first, if lapses { "taken" } else { "chosen" });
        // Held: leave. It may have left before it is let go.
        player.practice.send(&[0xb0, 64, 127]);
        player.practice.wait(1_000_000);
        player.practice.end();
    }
}

#[test]
fn a_figure_is_learnt_when_it_comes_twice_alike() {
    let folder = Folder::new();
    let figure = |from: u64, pitches: &[u8]| {
        let mut lines = String::new();
        for (index, pitch) in (0..).zip(pitches) {
            let at = from + index * 300_000;
            let _ = writeln!(lines, "{at} 90 {pitch:02x} 60\n{} 80 {pitch:02x} 00", at + 250_000);
        }
        lines
    };
    let words = ["footswitch", "--guitar"];
    let lines = [
        figure(1_000_000, &[40, 64]),
        figure(5_000_000, &[40, 41, 42]),
        figure(9_000_000, &FIGURE),
        figure(13_000_000, &[40, 64, 40, 65]),
        figure(17_000_000, &[40, 64, 40, 65]),
        "25000000\n".to_owned(),
    ];
    let run = told(&folder, &words, &lines.concat());
    run.done();
    for line in [
        "Those were 2 notes; it takes 3 to 6.",
        "It needs a leap of an octave.",
        "That was E2 E4 E2 E4. The same once more.",
        "That was E2 E4 E2 F4, and something else before.",
        "figure of the guitar: E2 E4 E2 F4, alone; then pluck an open string, 1: again",
    ] {
        assert!(run.out.contains(line), "no “{line}” in\n{}", run.out);
    }
    // Once is not enough, and what was known stays.
    told(&folder, &words, &format!("{}9000000\n", figure(1_000_000, &FIGURE)))
        .refused(code::LIVE, &["twice alike"]);
    assert!(shown(&folder).contains("E2 E4 E2 F4"));
    // Switches are learnt beside it.
    told(&folder, &["footswitch", "--two"], HELD).done();
    assert!(shown(&folder).contains("E2 E4 E2 F4"));
    Run::of(&mut at(&folder, &["footswitch", "--forget"]), vec![]).done();
    assert!(!shown(&folder).contains("figure"));
}

fn with_a_figure() -> Folder {
    let folder = Folder::new();
    let settings = "evenhand settings 1\nguitar-call = E2 E4 E2 E4\n";
    std::fs::create_dir(folder.path("settings")).expect("a folder");
    folder.write("settings/settings.txt", settings);
    folder
}

#[test]
fn the_guitar_alone_asks_and_chooses() {
    let folder = with_a_figure();
    let mut player = Player::begin(&folder, &[]);
    player.practice.wait(3_000_000);
    player.figure(Some(59));
    let (events, word) = player.next();
    assert_eq!((word.as_str(), player.chunk), ("taken", 1), "string 2: next");
    let asked = events.iter().find(|event| event["kind"] == "choices").expect("what was asked");
    assert!(asked["ways"].as_str().expect("a line").contains("2: next"), "{asked}");
    // Without the figure before, a string is music; and the figure in the middle of music is music.
    player.practice.wait(3_000_000);
    player.plays(&[], 5);
    let (events, word) = player.next();
    assert_eq!(word, "leap");
    let attempts = events.iter().filter(|event| event["kind"] == "attempt").count();
    assert_eq!(attempts, 1, "the figure was none: {events:?}");
    player.figure(None);
    player.practice.send(&[0x90, 40, 90]);
    assert_eq!(player.next().1, "hurts", "string 6");
    let (rest, errors) = player.practice.end();
    assert_eq!(errors, "");
    assert!(rest.iter().all(|event| event["kind"] != "attempt"), "{rest:?}");
}

#[test]
fn what_was_played_to_ask_is_no_attempt() {
    let folder = with_a_figure();
    // It begins like the figure.
    let study = folder.write(
        "begins.study",
        "evenhand study 1\ntempo 100\nmetre 4/4\nlevel first\nchunk \"Begins\" at bar 1\n  \
         m: 1/8 6:0 1:0 6:0 5:0 5:2 5:3 4:0 4:2 |\nchunk \"Goes on\" at bar 2\n  \
         m: 1/8 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n",
    );
    let mut practice = Told::start(&mut at(&folder, &["practice", &study, "--no-log"]));
    practice.wait(1_000_000);
    let step = practice.until("step").expect("a step").pop().expect("it");
    practice.wait(3_000_000);
    let mut player = Player { practice, step, chunk: 0 };
    player.figure(Some(59));
    let (events, word) = player.next();
    assert_eq!((word.as_str(), player.chunk), ("taken", 1), "next");
    assert!(events.iter().all(|event| event["kind"] != "attempt"), "{events:?}");
}

#[test]
fn in_a_study_that_holds_the_figure_it_asks_for_nothing() {
    let folder = with_a_figure();
    let study = folder.write(
        "leaps.study",
        "evenhand study 1\ntempo 100\nmetre 4/4\nlevel first\nchunk \"Leaps\" at bar 1\n  \
         m: 1/8 6:0 1:0 6:0 1:0 5:0 5:2 5:3 4:0 |\n",
    );
    let words = ["practice", &study, "--no-log", "--plain"];
    let run = told(&folder, &words, "1000000\n");
    assert_eq!(run.code, code::DONE);
    assert!(run.err.contains("the guitar's figure E2 E4 E2 E4 is in “Leaps”"), "{}", run.err);
    // Played by itself it asks for nothing.
    let mut practice = Told::start(&mut at(&folder, &["practice", &study, "--no-log"]));
    practice.wait(1_000_000);
    let step = practice.until("step").expect("a step").pop().expect("it");
    practice.wait(3_000_000);
    let mut player = Player { practice, step, chunk: 0 };
    player.figure(None);
    let (rest, _) = player.practice.end();
    assert!(rest.iter().all(|event| event["kind"] != "choices"), "{rest:?}");
}
