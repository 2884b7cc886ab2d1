//! A raw line that sends faster than anybody plays, and one that sends nothing.

use evenhand_tests::live::{Listening, eight_steps, wait_until};
use evenhand_tests::run::{Folder, bundled, command};
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::process::Command;
use std::time::{Duration, Instant};

/// Notes a second, and seconds.
const RATE: u64 = 1_000;
const SECONDS: u64 = 10;

/// A share of one core, in per mille: what the program may use while nothing comes.
const IDLE_LOAD: f64 = 20.0;

fn listening(folder: &Folder) -> (Listening, File) {
    let fifo = folder.path("pickup");
    assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
    // Both ends wait for each other when they open it.
    let opened = std::thread::spawn({
        let fifo = fifo.clone();
        move || OpenOptions::new().write(true).open(fifo).unwrap()
    });
    let study = bundled("studies/small.study");
    let words = ["listen", &study, "--raw", &fifo, "--channels", "string", "--tempo", "120"];
    (Listening::start(&mut command(&words)), opened.join().unwrap())
}

#[test]
fn nothing_is_lost_at_a_thousand_notes_a_second() {
    let folder = Folder::new();
    let (listening, mut to) = listening(&folder);
    let begun = Instant::now();
    for note in 0..RATE * SECONDS {
        wait_until(begun, Duration::from_micros(note * 1_000_000 / RATE));
        // Far above the chunk, on changing strings; running status half of the time.
        let (string, pitch) = ((note / 2 % 6) as u8, 90 + (note % 12) as u8);
        let bytes = [0x90 + string, pitch, 70, pitch, 0];
        to.write_all(&bytes[..]).unwrap();
    }
    let sent = begun.elapsed();
    // After this silence an attempt begins, by whose numbers it shows what has been heard.
    std::thread::sleep(Duration::from_millis(2_500));
    let used = listening.used();
    let begun = Instant::now();
    let mut last = begun;
    for message in eight_steps() {
        wait_until(begun, Duration::from_micros(message.at.as_micros()));
        to.write_all(&message.bytes).unwrap();
        if message.begins.is_some() {
            last = Instant::now();
        }
    }
    let (before, at, verdict) = listening.until("verdict");
    println!(
        "{} notes in {:.2} s, which took {:.2} s of a core; verdict {:.0} ms after the last note-on",
        RATE * SECONDS,
        sent.as_secs_f64(),
        used.as_secs_f64(),
        at.duration_since(last).as_secs_f64() * 1e3
    );
    assert_eq!(verdict["attempt"], 1, "{verdict}");
    let heard: Vec<u64> = before
        .iter()
        .filter(|event| event["kind"] == "pair")
        .map(|event| event["played"].as_u64().unwrap())
        .collect();
    let expected: Vec<u64> = (RATE * SECONDS..).take(8).collect();
    assert_eq!(heard, expected);
}

#[test]
fn a_line_that_is_silent_costs_next_to_nothing() {
    let folder = Folder::new();
    let (listening, _to) = listening(&folder);
    let (load, wakings) = listening.load_over(Duration::from_secs(4));
    println!("idle on a raw line: {load:.1} per mille of a core, {wakings:.1} wakings a second");
    assert!(load < IDLE_LOAD, "{load} per mille of a core while nothing comes");
}
