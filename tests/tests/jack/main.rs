//! Live input through the operating system's MIDI, with a JACK server in place of hardware.
//!
//! Run by `cargo xtask rig jack`. Two senders that are not the program's own: one of ours, which
//! knows when it sent what, and JACK's `jack_midiseq`, which we have not written. Times are
//! printed and not asserted, but for what a user would notice.

mod delay;
mod practice;
mod server;

use evenhand_tests::live::{Listening, SMALL, due_after_last_note, eight_steps, wait_until};
use evenhand_tests::run::{Folder, Run, bundled, code, command};
use midir::os::unix::VirtualOutput;
use midir::{MidiOutput, MidiOutputConnection};
use serde_json::{Value, json};
use server::{RATE, Server};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How soon it is said that a pickup is away.
const NOTICED: Duration = Duration::from_secs(2);

/// After this silence nothing is under way.
const SILENCE: Duration = Duration::from_millis(2_500);

/// A share of one core, in per mille: what the program may use while nothing comes. JACK calls
/// each client 375 times a second, so this is more than on a raw line.
const IDLE_LOAD: f64 = 100.0;

/// A pickup that can be unplugged.
fn plug_in() -> MidiOutputConnection {
    let pickup = MidiOutput::new("six strings").unwrap().create_virtual("pickup").unwrap();
    server::wait_for("six strings:pickup");
    pickup
}

/// Plays the small study, and gives when its last note was sent.
fn play(pickup: &mut MidiOutputConnection, notes: usize) -> Instant {
    let begun = Instant::now();
    let mut last = begun;
    for message in eight_steps().into_iter().take(2 * notes) {
        wait_until(begun, Duration::from_micros(message.at.as_micros()));
        if message.begins.is_some() {
            last = Instant::now();
        }
        pickup.send(&message.bytes).unwrap();
    }
    last
}

fn played(events: &[Value]) -> Vec<u64> {
    let pairs = events.iter().filter(|event| event["kind"] == "pair");
    pairs.map(|event| event["played"].as_u64().unwrap()).collect()
}

fn listen(folder: &Folder) -> Listening {
    listen_with(folder, &[])
}

fn listen_with(folder: &Folder, more: &[&str]) -> Listening {
    let study = bundled("studies/small.study");
    let words = ["listen", &study, "--port", "STRINGS", "--channels", "string", "--tempo", "120"];
    Listening::start(&mut program(folder, &[&words[..], more].concat()))
}

/// The program, which remembers ports in a folder of the test's.
fn program(folder: &Folder, arguments: &[&str]) -> Command {
    let mut command = command(arguments);
    command.env(evenhand::settings::VARIABLE, folder.as_ref());
    command
}

#[test]
fn nothing_is_lost_and_the_verdict_comes_at_once() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let mut pickup = plug_in();
    let listening = listen(&folder);
    let (load, wakings) = listening.load_over(Duration::from_secs(4));
    println!("idle on a JACK port: {load:.1} per mille of a core, {wakings:.1} wakings a second");
    assert!(load < IDLE_LOAD, "{load} per mille of a core while nothing comes");
    // 2,000 messages, one a millisecond.
    let begun = Instant::now();
    for note in 0..1_000_u64 {
        for (half, velocity) in [(0, 70), (1, 0)] {
            wait_until(begun, Duration::from_millis(2 * note + half));
            pickup.send(&[0x90 + (note % 6) as u8, 90, velocity]).unwrap();
        }
    }
    // 100 chords of six notes, which come at once and end at once.
    for chord in 0..100_u64 {
        wait_until(begun, Duration::from_millis(2_100 + 20 * chord));
        for velocity in [70, 0] {
            for string in 0..6 {
                pickup.send(&[0x90 + string, 90 + string, velocity]).unwrap();
            }
        }
    }
    sleep(SILENCE);
    let due = due_after_last_note(SMALL, 120, &eight_steps());
    let mut first = 1_000 + 600;
    let mut delays = Vec::new();
    for _ in 0..5 {
        let last = play(&mut pickup, 8);
        let (events, at, _) = listening.until("verdict");
        assert_eq!(played(&events), (first..first + 8).collect::<Vec<u64>>());
        first += 8;
        delays.push(at.duration_since(last).saturating_sub(due).as_secs_f64() * 1e3);
        sleep(Duration::from_millis(500));
    }
    delays.sort_by(f64::total_cmp);
    println!(
        "2,000 messages and 1,200 in chords: nothing lost. The verdict, which by design waits \
         {} ms after the last note, came {:.1} to {:.1} ms later than that (median {:.1})",
        due.as_millis(),
        delays[0],
        delays[4],
        delays[2]
    );
    // A tenth of a second more would be noticed by whoever waits for the word.
    assert!(delays[2] < 100.0, "{delays:?}");
    assert_eq!(listening.end(), "");
}

#[test]
fn an_unplugged_pickup_is_noticed_and_practice_goes_on_when_it_is_back() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let mut pickup = plug_in();
    let listening = listen(&folder);
    play(&mut pickup, 5);
    drop(pickup);
    let gone = Instant::now();
    let (before, at, event) = listening.until("interrupted");
    let noticed = at.duration_since(gone);
    println!("unplugged in the middle of an attempt: said after {} ms", noticed.as_millis());
    assert!(noticed < NOTICED, "{noticed:?}");
    assert_eq!(event["attempt_under_way"], true, "{event}");
    assert!(before.is_empty(), "{before:#?}");
    // Longer than anybody waits for the next note.
    sleep(Duration::from_secs(3));
    let mut pickup = plug_in();
    let back = Instant::now();
    let (before, at, _) = listening.until("resumed");
    println!("plugged in again: said after {} ms", at.duration_since(back).as_millis());
    assert!(before.is_empty(), "{before:#?}");
    play(&mut pickup, 8);
    let (events, _, verdict) = listening.until("verdict");
    assert_eq!(verdict["attempt"], 1, "{verdict}");
    assert_eq!(played(&events), (5..13).collect::<Vec<u64>>());
    let said = listening.end();
    let lines: Vec<&str> = said.lines().collect();
    assert_eq!(lines.len(), 2, "{said}");
    assert!(lines[0].contains("“six strings:pickup” is away"), "{said}");
    assert!(lines[1].contains("“six strings:pickup” is back"), "{said}");
}

/// Six-note chords on quarters, and what plays them.
const CHORDS: &str = "evenhand study 1\ntitle Six at once\nmetre 4/4\ntempo 120\n\
    chunk \"Six at once\" at bar 1\n  chords: 1/4 6:0+5:2+4:2+3:1+2:0+1:0 6:3+5:2+4:0+3:0+2:0+1:3 \
    6:0+5:2+4:2+3:1+2:0+1:0 6:3+5:2+4:0+3:0+2:0+1:3 |\n";
const E: [u32; 6] = [40, 47, 52, 56, 59, 64];
const G: [u32; 6] = [43, 47, 50, 55, 59, 67];

#[test]
fn chords_from_a_sender_that_is_not_ours_arrive_whole() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let study = folder.write("six.study", CHORDS);
    // A loop of four chords in two seconds and a pause of one.
    let mut sequence = vec!["chords".to_owned(), (3 * RATE).to_string()];
    for (beat, chord) in (0..).zip([E, G, E, G]) {
        for pitch in chord {
            let (start, length) = (beat * RATE / 2, RATE / 2 - RATE / 50);
            sequence.extend([start, pitch, length].map(|number| number.to_string()));
        }
    }
    let mut sender = Command::new("jack_midiseq");
    sender.args(&sequence).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut sender = sender.spawn().unwrap();
    server::wait_for("chords:out");
    // No name is given: it is the only port that can be a pickup.
    let words = ["listen", &study, "--channels", "one"];
    let listening = Listening::start(&mut program(&folder, &words));
    // The first attempt may be cut by when listening began.
    listening.next("verdict");
    let mut attempts = Vec::new();
    for _ in 0..3 {
        attempts.push(listening.until("verdict").0);
    }
    let _ = sender.kill();
    let _ = sender.wait();
    let first = played(&attempts[0]).into_iter().min().unwrap();
    for (attempt, events) in (0..).zip(&attempts) {
        let mut heard = played(events);
        heard.sort_unstable();
        let begin = first + 24 * attempt;
        assert_eq!(heard, (begin..begin + 24).collect::<Vec<u64>>(), "{events:#?}");
        let kinds = ["wrong", "missing", "extra"];
        let slips = |event: &&Value| kinds.iter().any(|kind| event["kind"] == *kind);
        assert_eq!(events.iter().find(slips), None);
    }
    println!("3 loops of four six-note chords from jack_midiseq: every note there, none twice");
}

#[test]
fn ports_are_chosen_by_name_remembered_and_listed() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let run = |words: &[&str]| Run::of(&mut program(&folder, words), Vec::new());
    let listen = |words: &[&str]| Listening::start(&mut program(&folder, words)).end();
    let study = bundled("studies/small.study");
    let none = run(&["listen", &study]);
    none.refused(code::LIVE, &["there is no MIDI input", "--raw"]);
    let pickup = plug_in();
    let other = MidiOutput::new("keys").unwrap().create_virtual("out").unwrap();
    server::wait_for("keys:out");
    let two = run(&["listen", &study]);
    two.refused(code::LIVE, &["more than one", "“six strings:pickup”", "“keys:out”", "--port"]);
    let wrong = run(&["listen", &study, "--port", "drums"]);
    wrong.refused(code::LIVE, &["“drums”", "“six strings:pickup”", "“keys:out”"]);
    // Chosen once, it needs no name any more.
    listen(&["listen", &study, "--port", "Six Str"]);
    let settings = std::fs::read_to_string(folder.path("settings.txt")).unwrap();
    assert!(settings.contains("port = six strings:pickup\n"), "{settings}");
    listen(&["listen", &study]);
    let ports = run(&["ports"]);
    let said = &ports.done().out;
    assert!(said.starts_with("six strings:pickup\nkeys:out\n"), "{said}");
    assert!(said.contains("takes “six strings:pickup”"), "{said}");
    // While it is away, the only other one is taken.
    drop(pickup);
    let ports = run(&["ports"]);
    let said = &ports.done().out;
    assert!(said.contains("takes “keys:out”"), "{said}");
    drop(other);
}

#[test]
fn what_can_be_clicked_on_is_listed_beside_what_is_heard() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let ports = |words: &[&str]| Run::of(&mut program(&folder, words), Vec::new());
    let said = ports(&["ports"]).done().out.clone();
    assert!(said.starts_with("No MIDI input. "), "{said}");
    assert!(said.contains("\nNo MIDI output"), "{said}");
    let _pickup = plug_in();
    // JACK's own monitor stands for an instrument. One of ours would be a second client of this
    // process that receives, and JACK's library once crashed when it was closed.
    let mut drums = Command::new("jack_midi_dump");
    drums.arg("wooden").stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut drums = drums.spawn().unwrap();
    server::wait_for("wooden:input");
    // The program's own entrances are nothing to listen to or to click on.
    let _listening = listen(&folder);
    server::wait_for("evenhand:input");
    let said = ports(&["ports"]).done().out.clone();
    assert!(!said.contains("evenhand:"), "{said}");
    let (inputs, outputs) = said.split_once("\nMIDI outputs, ").expect("both");
    assert!(inputs.starts_with("six strings:pickup\n\n") && !inputs.contains("wooden"), "{said}");
    assert!(outputs.contains("--sound-port NAME:\nwooden:input\n"), "{said}");
    assert!(!outputs.contains("pickup"), "{said}");
    let events = ports(&["ports", "--events"]);
    let _ = drums.kill();
    let _ = drums.wait();
    let events = events.done().events();
    let of = |kind: &str| {
        let of = events.iter().filter(|event| event["kind"] == kind);
        of.cloned().collect::<Vec<Value>>()
    };
    let input = json!({"kind": "midi-input", "name": "six strings:pickup", "taken": true});
    assert_eq!(of("midi-input"), [input]);
    assert_eq!(of("midi-output"), [json!({"kind": "midi-output", "name": "wooden:input"})]);
    // With or without one, it is told.
    let [audio] = &of("audio-output")[..] else { panic!("{events:?}") };
    assert_ne!(audio["name"].is_null(), audio["why"].is_null(), "{audio}");
}
