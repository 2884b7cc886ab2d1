//! The output goes away in the middle of practice, and comes back.

use super::program;
use super::server::Server;
use evenhand_tests::live::{Listening, eight_steps, wait_until};
use evenhand_tests::run::{Folder, bundled};
use serde_json::Value;
use std::fs::File;
use std::io::Write;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// What one waits at most for a word about it: a second without samples, a look every fifth of a
/// second, and room for a machine under load. Our default.
const NOTICED: Duration = Duration::from_secs(3);

/// The same when it is back: a try every second and a half, opening, and room. Our default.
const BACK: Duration = Duration::from_secs(5);

/// A FIFO for the player, who needs no MIDI system: that of this rig goes away, too.
fn fifo(home: &Folder) -> String {
    let fifo = home.path("notes");
    assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
    fifo
}

fn heard(listening: &Listening, begun: Instant) -> (Value, Duration, Vec<Value>) {
    let (before, at, event) = listening.until("sound");
    (event, at.duration_since(begun), before)
}

#[test]
fn practice_goes_on_without_the_output_and_takes_it_up_when_it_is_back() {
    let home = Folder::new();
    home.write(".asoundrc", super::TO_SERVER);
    let server = Server::start(2);
    let (fifo, study) = (fifo(&home), bundled("studies/small.study"));
    let words = ["practice", &study, "--raw", &fifo, "--no-log", "--channels", "string"];
    // Opens as soon as the program does.
    let player = std::thread::spawn({
        let fifo = fifo.clone();
        move || File::create(fifo).unwrap()
    });
    let listening = Listening::start(&mut program(&home, &words));
    let mut player = player.join().unwrap();
    let begun = Instant::now();
    let (event, _, _) = heard(&listening, begun);
    assert_eq!((&event["heard"], &event["why"]), (&true.into(), &Value::Null), "{event}");
    // Into the count-in or the click after it.
    sleep(Duration::from_secs(3));

    drop(server);
    let gone = Instant::now();
    let (event, noticed, _) = heard(&listening, gone);
    println!("the server was stopped: said after {} ms", noticed.as_millis());
    assert_eq!((&event["heard"], &event["through"]), (&false.into(), &Value::Null), "{event}");
    assert!(event["why"].as_str().is_some_and(|why| why.contains("gone")), "{event}");
    assert!(noticed < NOTICED, "{noticed:?}");

    // Nobody is kept from playing meanwhile.
    let start = Instant::now();
    for message in eight_steps() {
        wait_until(start, Duration::from_micros(message.at.as_micros()));
        player.write_all(&message.bytes).unwrap();
    }
    let (before, _, verdict) = listening.until("verdict");
    assert_eq!(before.iter().filter(|event| event["kind"] == "pair").count(), 8, "{verdict}");
    assert!(before.iter().all(|event| event["kind"] != "sound"), "it is said once: {before:?}");

    let _server = Server::start(2);
    let (event, back, _) = heard(&listening, Instant::now());
    println!("the server was started again: said {} ms after it was up", back.as_millis());
    assert_eq!((&event["heard"], &event["why"]), (&true.into(), &Value::Null), "{event}");
    assert!(back < BACK, "{back:?}");
    // It goes on to play: nothing is said for a while.
    sleep(Duration::from_secs(2));
    let said = listening.end();
    let ours: Vec<&str> = said.lines().filter(|line| line.starts_with("evenhand: ")).collect();
    assert_eq!(ours.len(), 2, "{said}");
    assert!(ours[0].contains("no sound any more: the sound output has gone"), "{said}");
    assert!(ours[1].contains("the sound is back, through “"), "{said}");
}
