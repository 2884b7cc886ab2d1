//! `doctor --listen`: what is said of a pickup that is played on for a minute, without a study.

use evenhand_tests::run::{CONFIG, Folder, Run, code, command};
use serde_json::Value;
use std::fmt::Write;

const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// What a converter sends, in any order of time.
struct Line {
    messages: Vec<(u64, Vec<u8>)>,
    /// The channel of string 1, from 0.
    first: u8,
    velocity: Option<u8>,
    now: u64,
}

impl Line {
    fn new(first: u8) -> Self {
        Self { messages: Vec::new(), first, velocity: None, now: 1_000 }
    }

    fn note(&mut self, string: u8, fret: u8, velocity: u8, millis: u64, lasts: u64) {
        let velocity = self.velocity.unwrap_or(velocity);
        let (pitch, channel) = (OPEN[usize::from(string) - 1] + fret, self.first + string - 1);
        self.messages.push((millis * 1_000, vec![0x90 | channel, pitch, velocity]));
        self.messages.push(((millis + lasts) * 1_000, vec![0x80 | channel, pitch, 64]));
    }

    /// Each open string five times, a scale, eight chords of which the bass comes `late` ms later than its
    /// period explains, and four slurs as new notes.
    fn play_what_is_asked(&mut self, late: u64) {
        for string in (1..=6).rev() {
            for pluck in 0..5 {
                self.note(string, 0, 76 + 2 * pluck, self.now, 600);
                self.now += 800;
            }
        }
        for string in (1..=6).rev() {
            for fret in [0, 2, 3] {
                self.note(string, fret, 78 + fret, self.now, 240);
                self.now += 250;
            }
        }
        self.now += 1_000;
        for chord in 0..8 {
            for (string, fret, after) in [(6, 3, 10 + late), (3, 0, 5), (2, 0, 4), (1, 3, 3)] {
                self.note(string, fret, 74 + chord, self.now + after, 600);
            }
            self.now += 1_000;
        }
        for _ in 0..4 {
            self.note(2, 0, 80, self.now, 900);
            self.note(2, 2, 66, self.now + 400, 500);
            self.now += 1_500;
        }
    }

    fn lines(&self) -> String {
        let mut messages = self.messages.clone();
        messages.sort();
        let mut lines = String::new();
        for (at, bytes) in messages {
            let bytes: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
            let _ = writeln!(lines, "{at} {}", bytes.join(" "));
        }
        lines
    }
}

fn run(folder: &Folder, lines: &str, more: &[&str]) -> Run {
    let words = [&["doctor", "--listen", "--timed", "-"], more].concat();
    let mut command = command(&words);
    command.env(CONFIG, folder.path("settings"));
    Run::of(&mut command, lines.as_bytes().to_vec())
}

fn listen(lines: &str) -> Run {
    let run = run(&Folder::new(), lines, &[]);
    assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{}", run.out);
    run
}

/// The text in one line, so that it does not matter where lines end.
fn said(run: &Run) -> String {
    run.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_good_pickup_is_called_good() {
    let mut line = Line::new(10);
    line.play_what_is_asked(0);
    let run = listen(&line.lines());
    let said = said(run.done());
    for words in [
        "each open string five times",
        "good a channel per string, string 1 on channel 11",
        "good no note looks like a mistake",
        "good velocities follow the stroke",
        "good strings arrive about as loud as each other",
        "good in 8 chords the strings came within 12 ms",
        "slurs come as new notes",
        "not judged: wrong notes",
        "Nothing is wrong here.",
    ] {
        assert!(said.contains(words), "no “{words}” in\n{}", run.out);
    }
    assert!(!said.contains("mind") && !said.contains("WRONG"), "{}", run.out);
}

#[test]
fn each_thing_that_is_amiss_is_told_with_what_helps() {
    let mut line = Line::new(0);
    line.play_what_is_asked(45);
    // Begun again; heard through the neighbour; and an even row with a gap.
    line.now += 1_000;
    for _ in 0..3 {
        line.note(4, 2, 80, line.now, 400);
        line.note(4, 2, 40, line.now + 30, 300);
        line.note(5, 7, 20, line.now + 4, 100);
        line.now += 700;
    }
    for pluck in [0, 1, 2, 4, 5] {
        line.note(3, 0, 80, line.now + pluck * 800, 500);
    }
    let run = listen(&line.lines());
    let said = said(run.done());
    for words in [
        "string 4: 3 notes were sent twice",
        "string 5: 3 notes were heard through another string",
        "string 3: one note seems lost",
        "turn the sensitivity of that string down",
        "turn the sensitivity of that string up",
        "string 6 comes 45 ms after the middle of a chord",
        "The hand may do it as well as the converter.",
    ] {
        assert!(said.contains(words), "no “{words}” in\n{}", run.out);
    }
}

#[test]
fn a_string_that_is_not_heard_and_one_that_is_soft_are_named() {
    let mut line = Line::new(0);
    line.play_what_is_asked(0);
    line.messages.retain(|(_, bytes)| bytes[0] & 15 != 3);
    for (_, bytes) in &mut line.messages {
        if bytes[0] == 0x94 {
            bytes[2] = bytes[2] / 10 * 6;
        }
    }
    let run = listen(&line.lines());
    assert_eq!(run.code, 8, "{run:?}");
    let said = said(&run);
    assert!(said.contains("WRONG string 4 was not heard"), "{}", run.out);
    assert!(said.contains("string 5 arrives") && said.contains("dB softer"), "{}", run.out);
    assert!(said.contains("not heard yet: string"), "{}", run.out);
}

#[test]
fn velocities_that_are_stuck_or_at_an_end_are_told() {
    for (velocity, words) in
        [(96, "every note came with velocity 96"), (127, "every note came with velocity 127")]
    {
        let mut line = Line::new(0);
        line.velocity = Some(velocity);
        line.play_what_is_asked(0);
        let run = listen(&line.lines());
        assert!(said(&run).contains(words), "{}", run.out);
    }
    for (velocity, words) in [(127, "came at 127, the most there is"), (1, "came at 1, the least")]
    {
        let mut line = Line::new(0);
        line.play_what_is_asked(0);
        for (index, (_, bytes)) in line.messages.iter_mut().enumerate() {
            if bytes[0] & 0xf0 == 0x90 && index % 3 == 0 {
                bytes[2] = velocity;
            }
        }
        let run = listen(&line.lines());
        assert!(said(&run).contains(words), "{}", run.out);
    }
}

#[test]
fn silence_other_bytes_and_other_channels_are_told_apart() {
    let silent = listen("30000000\n");
    assert_eq!(silent.code, 8);
    assert!(said(&silent).contains("nothing came from standard input"), "{}", silent.out);
    assert!(said(&silent).contains("converter's OUT"), "{}", silent.out);
    let clock = listen("1000000 f8 f8\n2000000 f8\n30000000\n");
    assert_eq!(clock.code, 8);
    assert!(said(&clock).contains("3 bytes came from standard input, and no note"), "{clock:?}");
    // One channel for all.
    let mut line = Line::new(0);
    line.play_what_is_asked(0);
    line.messages.iter_mut().for_each(|(_, bytes)| bytes[0] &= 0xf0);
    let one = listen(&line.lines());
    assert!(said(&one).contains("mind all notes came on channel 1"), "{}", one.out);
    assert!(said(&one).contains("--channels one"), "{}", one.out);
    // String 6 on the lowest channel.
    line = Line::new(0);
    line.play_what_is_asked(0);
    line.messages
        .iter_mut()
        .for_each(|(_, bytes)| bytes[0] = bytes[0] & 0xf0 | (5 - (bytes[0] & 15)));
    let turned = listen(&line.lines());
    assert_eq!(turned.code, 8);
    assert!(said(&turned).contains("the channels stand in another order"), "{}", turned.out);
    // Every other channel.
    line = Line::new(0);
    line.play_what_is_asked(0);
    line.messages
        .iter_mut()
        .for_each(|(_, bytes)| bytes[0] = bytes[0] & 0xf0 | (2 * (bytes[0] & 15)));
    let apart = listen(&line.lines());
    assert_eq!(apart.code, 8);
    assert!(
        said(&apart).contains("channels 1, 3, 5, 7, 9 and 11: not six in a row"),
        "{}",
        apart.out
    );
}

#[test]
fn channels_that_the_profile_does_not_know_are_told() {
    let folder = Folder::new();
    let pickup = folder.write("mine.txt", "evenhand pickup 1\nchannels = strings from 11\n");
    let mut line = Line::new(0);
    line.play_what_is_asked(0);
    let other = run(&folder, &line.lines(), &["--pickup", &pickup]);
    assert_eq!(other.code, 8);
    assert!(said(&other).contains("the profile says string 1 on channel 11"), "{}", other.out);
    let mut line = Line::new(10);
    line.play_what_is_asked(0);
    let same = run(&folder, &line.lines(), &["--pickup", &pickup]);
    assert!(said(same.done()).contains("good a channel per string"), "{}", same.out);
}

#[test]
fn it_ends_by_itself_and_judges_what_it_heard_when_the_line_ends() {
    // Two minutes: the second is not listened to.
    let mut line = Line::new(0);
    while line.now < 120_000 {
        line.play_what_is_asked(0);
    }
    let run = listen(&line.lines());
    assert!(said(run.done()).contains("notes in 7"), "{}", run.out);
    // A line that breaks off.
    let broken = listen("1000000 90 40 50\n2000000 90 40 50\nnow\n");
    assert_eq!(broken.code, 8);
    assert!(said(&broken).contains("broke off: line 3"), "{}", broken.out);
    assert!(said(&broken).contains("only 2 notes came"), "{}", broken.out);
    // Nothing comes any more.
    let mut line = Line::new(0);
    line.play_what_is_asked(0);
    let lines = line.lines() + "900000000 90 40 50\n";
    let ended = listen(&lines);
    assert!(said(ended.done()).contains("Nothing is wrong here."), "{}", ended.out);
}

#[test]
fn records_tell_each_string_and_each_check() {
    let mut line = Line::new(0);
    line.play_what_is_asked(45);
    let run = run(&Folder::new(), &line.lines(), &["--events"]);
    let events = run.done().events();
    let strings: Vec<&Value> =
        events.iter().filter(|event| event["kind"] == "string-heard").collect();
    assert_eq!(strings.len(), 6, "{events:?}");
    assert_eq!((&strings[5]["string"], &strings[5]["notes"]), (&6.into(), &16.into()));
    let late = strings[5]["late_us"].as_i64().expect("it was told");
    assert!((40_000..=50_000).contains(&late), "{late}");
    let page = evenhand_tests::program::workspace().join("docs/events.md");
    let page = std::fs::read_to_string(page).expect("a page");
    for event in &events {
        if event["kind"] == "check" {
            let what = event["what"].as_str().expect("a word");
            assert!(page.contains(&format!("`{what}`")), "{what}");
        }
        let row = page.lines().find(|line| line.starts_with("| `string-heard` |")).expect("a row");
        if event["kind"] == "string-heard" {
            for field in event.as_object().expect("fields").keys().filter(|key| *key != "kind") {
                assert!(row.contains(&format!("`{field}`")), "{field}");
            }
        }
    }
}

#[test]
fn an_input_goes_with_listen_only() {
    let run = evenhand_tests::run::evenhand(&["doctor", "--timed", "x"]);
    run.refused(code::USAGE, &["without --listen"]);
    let run = evenhand_tests::run::evenhand(&["doctor", "--listen", "--timed", "no-such-file"]);
    run.refused(code::LIVE, &["no-such-file"]);
}
