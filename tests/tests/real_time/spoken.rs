//! What is spoken, by a voice that is a script and writes down what it was told and when: never while somebody is
//! counted in, and not for ever.
#![cfg(unix)]

use crate::seen::{STUDY, Seen, fifo, practice};
use evenhand::study::parse;
use evenhand_core::player::{Skill, perform};
use evenhand_tests::run::Folder;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

/// Practice on a page whose player plays in real time, and the file in which the voice writes.
fn speaking(does: &str, more: &[&str]) -> (Seen, PathBuf) {
    let folder = Folder::new();
    let fifo = fifo(&folder);
    let told = PathBuf::from(folder.path("told"));
    let mut command = practice(&folder, STUDY, "--raw", &fifo);
    command.args(["--pause", "0"]);
    command.args(more);
    command.env("PATH", folder.voice(&does.replace("TOLD", &told.display().to_string())));
    (Seen::run(folder, &fifo, &command, 60, 9), told)
}

/// Plays the chunk as it comes, with so many slips.
fn play(seen: &mut Seen, slips: u16) {
    let chunk = parse(STUDY).expect("a study").prepare().expect("it").remove(0);
    let faults: Vec<_> = (0..slips)
        .map(|slip| evenhand_core::player::Fault::Wrong { note: slip + 2, semitones: 1 })
        .collect();
    let played = perform(&chunk.chunk(), chunk.tempo, Skill::SKILLED, &faults, 9);
    let start = Instant::now();
    for line in evenhand_tests::told::lines(0, played.notes()).lines() {
        let mut words = line.split(' ');
        let at = Duration::from_micros(words.next().unwrap().parse().unwrap());
        let bytes: Vec<u8> = words.map(|word| u8::from_str_radix(word, 16).unwrap()).collect();
        thread::sleep(at.saturating_sub(start.elapsed()));
        seen.player.write_all(&bytes).expect("the program listens");
    }
}

fn said(told: &Path) -> String {
    fs::read_to_string(told).unwrap_or_default()
}

/// A number of the count-in, in plain letters, at another tempo than the first one.
fn is_counting(text: &str) -> bool {
    ["1", "2", "3", "4"].iter().any(|beat| text.contains(&format!("\n {beat}   5")))
}

#[test]
fn nobody_is_counted_in_while_something_is_said() {
    let does = "echo \"begins $1\" >> TOLD; sleep 1.5; echo ends >> TOLD";
    let (mut seen, told) = speaking(does, &["--speak", "every"]);
    seen.wait_for("study", |text| text.contains("Steps"));
    play(&mut seen, 3);
    seen.wait_for("voice", |_| said(&told).contains("begins"));
    assert!(said(&told).starts_with("begins needs work, "), "{}", said(&told));
    // Without a pause for reading it would be counted in at once.
    let mut looks = 0;
    while !said(&told).contains("ends") {
        assert!(!is_counting(&seen.text()), "{}", seen.text());
        looks += 1;
        thread::sleep(Duration::from_millis(20));
    }
    assert!(looks > 20, "it took its time");
    seen.wait_for("count-in", is_counting);
    // Whoever counts is not spoken over, and the whole sentence can be asked for: it ends the count-in.
    seen.press(b"s");
    seen.wait_for("sentence", |_| said(&told).matches("begins").count() == 2);
    assert!(said(&told).contains("A little slower, until it is clean again"), "{}", said(&told));
    while said(&told).matches("ends").count() < 2 {
        assert!(!is_counting(&seen.text()), "{}", seen.text());
        thread::sleep(Duration::from_millis(20));
    }
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn a_voice_that_hangs_does_not_keep_practice_up() {
    let (mut seen, told) = speaking("echo \"$1\" >> TOLD; exec sleep 600", &["--speak", "2"]);
    seen.wait_for("study", |text| text.contains("Steps"));
    play(&mut seen, 3);
    // The first attempt is not the second.
    seen.wait_for("count-in", is_counting);
    assert_eq!(said(&told), "");
    // A machine that stalls may make something else of one that is played in real time.
    for _ in 0..4 {
        play(&mut seen, 3);
        let end = Instant::now() + Duration::from_secs(8);
        while said(&told).is_empty() && Instant::now() < end {
            thread::sleep(Duration::from_millis(20));
        }
        if !said(&told).is_empty() {
            break;
        }
    }
    assert!(!said(&told).is_empty(), "{}", seen.text());
    let begun = Instant::now();
    seen.wait_for("count-in", is_counting);
    assert!(begun.elapsed() > Duration::from_secs(2), "it was given time");
    // Whoever plays while it speaks has ended it.
    seen.press(b"s");
    seen.wait_for("sentence", |_| said(&told).lines().count() >= 2);
    seen.player.write_all(&[0x90, 43, 80]).expect("the program listens");
    seen.wait_for("count-in", is_counting);
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn where_there_is_no_voice_it_is_said_once_and_practice_goes_on() {
    let (mut seen, told) = speaking("exit 0", &["--speak", "every"]);
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
    assert_eq!(said(&told), "");
    let folder = Folder::new();
    let fifo = fifo(&folder);
    let mut command = practice(&folder, STUDY, "--timed", &fifo);
    command.args(["--speak", "passed"]);
    command.env("PATH", folder.path("nothing"));
    let mut seen = Seen::run(folder, &fifo, &command, 80, 24);
    seen.wait_for("word", |text| text.contains("nothing is spoken: there is no voice"));
    seen.play(0);
    seen.wait_for("step", |text| text.contains("clean 1 of 2"));
    assert!(!seen.text().contains("nothing is spoken"), "once");
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}
