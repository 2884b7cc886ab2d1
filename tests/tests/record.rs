//! `evenhand record` and `listen --record`: the file is whole at every moment, at most a second
//! is lost, and judging it says what was said live.

use evenhand::smf::growing::Growing;
use evenhand::smf::{Recording, Timed};
use evenhand_tests::run::{Folder, Run, bundled, code, command, evenhand};
use evenhand_tests::seeded::Seeded;
use midly::{MetaMessage, Smf, TrackEventKind};
use serde_json::Value;
use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// The layout by the specification: a header, then as many tracks as it counts, each ending
/// with its only end of track. Gives the number of note-ons.
fn whole(content: &[u8]) -> usize {
    assert_eq!(&content[..8], b"MThd\0\0\0\x06");
    let (format, tracks) = (content[9], u16::from_be_bytes([content[10], content[11]]));
    assert!(tracks >= 1 && (format == 1 || tracks == 1), "format {format}, {tracks} tracks");
    let mut at = 14;
    for _ in 0..tracks {
        assert_eq!(&content[at..at + 4], b"MTrk");
        let length = u32::from_be_bytes(content[at + 4..at + 8].try_into().unwrap()) as usize;
        at += 8 + length;
        assert!(at <= content.len(), "a track is cut");
    }
    // An independent reader's opinion of what the header counts.
    let smf = Smf::parse(&content[..at]).expect("midly reads it");
    assert_eq!(smf.tracks.len(), usize::from(tracks));
    for track in &smf.tracks {
        let is_end =
            |kind: &TrackEventKind<'_>| *kind == TrackEventKind::Meta(MetaMessage::EndOfTrack);
        assert_eq!(track.iter().filter(|event| is_end(&event.kind)).count(), 1);
        assert!(is_end(&track.last().unwrap().kind));
    }
    Recording::from_bytes(content, "it").expect("our reader reads it").notes().count()
}

fn fifo(folder: &Folder, name: &str) -> String {
    let fifo = folder.path(name);
    assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
    fifo
}

fn messages(name: &str) -> Vec<Timed> {
    let path = bundled(&format!("performances/{name}.mid"));
    Recording::read(path.as_ref()).unwrap().messages
}

/// Sends messages when they are due, to every listener the same.
fn send(to: &mut [impl Write], messages: &[Timed]) {
    let start = Instant::now();
    for message in messages {
        let due = Duration::from_micros(message.at.as_micros());
        thread::sleep(due.saturating_sub(start.elapsed()));
        for to in &mut *to {
            to.write_all(&message.bytes).unwrap();
        }
    }
}

fn events_of(mut child: Child) -> Run {
    let (mut out, mut err) = (String::new(), String::new());
    child.stdout.take().unwrap().read_to_string(&mut out).unwrap();
    if let Some(mut pipe) = child.stderr.take() {
        pipe.read_to_string(&mut err).unwrap();
    }
    Run { code: child.wait().unwrap().code().unwrap(), out, err }
}

/// Everything said of attempts, but where they came from.
fn said(run: &Run) -> Vec<Value> {
    let mut events = run.events();
    events.retain(|event| event.get("attempt").is_some());
    for event in &mut events {
        event.as_object_mut().unwrap().remove("source");
    }
    events
}

#[test]
fn what_is_recorded_while_listening_is_judged_exactly_as_it_was() {
    let folder = Folder::new();
    let (quay, file) = (bundled("studies/lantern-quay.study"), folder.path("take.mid"));
    let listen = ["listen", &quay, "--raw", "-", "--events", "--channels", "string", "--record"];
    let child = command(&listen).arg(&file).stdin(Stdio::piped()).spawn();
    let mut child = child.unwrap();
    let mut to = [child.stdin.take().unwrap()];
    send(&mut to, &messages("last-steps-wrong-note"));
    thread::sleep(Duration::from_millis(700));
    send(&mut to, &messages("shifts-hesitation"));
    drop(to);
    let live = events_of(child);
    let judged = evenhand(&["judge", &quay, &file, "--events", "--channels", "string"]);
    assert_eq!(live.verdicts().len(), 2);
    assert_eq!(said(&live), said(judged.done()));
    let content = std::fs::read(&file).unwrap();
    whole(&content);
    assert_eq!((content[9], content[11]), (0, 1), "it was not joined in the end");
    assert!(!Path::new(&folder.path("take.mid.part")).exists());
}

#[test]
fn a_recording_of_the_same_bytes_has_the_verdicts_of_the_live_session() {
    let folder = Folder::new();
    let (quay, file) = (bundled("studies/lantern-quay.study"), folder.path("take.mid"));
    let fifos = [fifo(&folder, "to-listen"), fifo(&folder, "to-record")];
    let listen = ["listen", &quay, "--raw", &fifos[0], "--events", "--channels", "string"];
    let listening = command(&listen).spawn().unwrap();
    let recording = command(&["record", &file, "--raw", &fifos[1]]).spawn().unwrap();
    let mut to = fifos.map(|fifo| OpenOptions::new().write(true).open(fifo).unwrap());
    // What a line carries beside the notes is no part of them: a clock, a system message that
    // ends running status, data that belong to nothing.
    let mut noisy = messages("barre-missing-note");
    for message in noisy.iter_mut().step_by(3) {
        message.bytes.splice(1..1, [0xf8]);
        message.bytes.extend([0xfe, 0xf6, 40, 90]);
    }
    send(&mut to, &noisy);
    drop(to);
    let (live, recorded) = (events_of(listening), events_of(recording));
    assert_eq!(recorded.code, code::DONE);
    assert!(recorded.out.contains(&format!("{file}: {} messages.", noisy.len())), "{recorded:?}");
    let judged = evenhand(&["judge", &quay, &file, "--events", "--channels", "string"]);
    assert_eq!(live.verdicts().len(), 1);
    assert_eq!(live.verdicts(), judged.done_verdicts());
}

/// Sends a note every few milliseconds until nobody reads; gives when each was sent.
fn play_on(to: &mut impl Write, seed: u64) -> Vec<Instant> {
    let mut seeded = Seeded::new(seed);
    let mut sent = Vec::new();
    loop {
        let pitch = seeded.between(40, 80) as u8;
        if to.write_all(&[0x90, pitch, 80, 0x80, pitch, 64]).is_err() {
            return sent;
        }
        sent.push(Instant::now());
        thread::sleep(Duration::from_millis(4));
    }
}

#[test]
fn after_a_kill_at_any_moment_the_file_is_whole_and_holds_all_but_the_last_second() {
    let (mut kept, mut possible) = (0, 0);
    for round in 0..5 {
        let killed: Vec<_> = (0..4)
            .map(|index| {
                let seed = round * 4 + index;
                thread::spawn(move || {
                    let folder = Folder::new();
                    let (fifo, file) = (fifo(&folder, "pickup"), folder.path("take.mid"));
                    let mut child = command(&["record", &file, "--raw", &fifo]).spawn().unwrap();
                    let mut to = OpenOptions::new().write(true).open(&fifo).unwrap();
                    let player = thread::spawn(move || play_on(&mut to, seed));
                    let moment = Seeded::new(2_000 + seed).between(1_050, 2_600);
                    thread::sleep(Duration::from_millis(moment as u64));
                    let kill = Instant::now();
                    child.kill().unwrap();
                    child.wait().unwrap();
                    let sent = player.join().unwrap();
                    let notes = whole(&std::fs::read(&file).unwrap());
                    let second = Duration::from_secs(1);
                    let early = sent.iter().filter(|at| **at + second <= kill).count();
                    assert!(notes >= early, "seed {seed}: {notes} of {early} a second before");
                    (notes, early)
                })
            })
            .collect();
        for thread in killed {
            let (notes, early) = thread.join().unwrap();
            kept += notes;
            possible += early;
        }
    }
    // Otherwise nothing was tested.
    assert!(possible > 1_000 && kept > possible, "{kept} kept, {possible} had to be");
}

#[test]
fn a_file_that_grows_is_whole_whenever_it_is_looked_at() {
    let folder = Folder::new();
    let (fifo, file) = (fifo(&folder, "pickup"), folder.path("take.mid"));
    let mut child = command(&["record", &file, "--raw", &fifo]).spawn().unwrap();
    let mut to = OpenOptions::new().write(true).open(&fifo).unwrap();
    let player = thread::spawn(move || play_on(&mut to, 3));
    let start = Instant::now();
    while !Path::new(&file).exists() {
        assert!(start.elapsed() < Duration::from_secs(20), "it does not begin");
    }
    let mut seen = Vec::new();
    while start.elapsed() < Duration::from_secs(3) {
        seen.push(whole(&std::fs::read(&file).unwrap()));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    player.join().unwrap();
    assert!(seen.is_sorted());
    seen.dedup();
    assert!(seen.len() >= 4, "it grew {} times only", seen.len());
}

/// Times to the microsecond, long silences, more flushes than there may be tracks, a reset.
#[test]
fn everything_comes_back_as_it_was() {
    let folder = Folder::new();
    let path = folder.path("take.mid");
    let mut growing = Growing::begin(path.as_ref(), "a test").unwrap();
    let mut seeded = Seeded::new(4);
    let mut now = 0;
    let mut expected: Vec<(u64, Vec<u8>)> = Vec::new();
    for round in 0..300 {
        for _ in 0..seeded.between(0, 3) {
            // Now and then nothing comes for many minutes: more than one time in a file can be.
            let longest = if round % 40 == 7 { 1_200_000_000 } else { 90_000 };
            now += seeded.between(0, longest) as u64;
            let bytes = match seeded.between(0, 5) {
                0 => vec![0xe3, 5, seeded.between(0, 127) as u8],
                1 => vec![0xb0, 123, 0],
                2 => vec![0xff],
                _ => vec![0x95, seeded.between(30, 90) as u8, seeded.between(1, 127) as u8],
            };
            growing.push(now, &bytes);
            expected.push((now, bytes));
        }
        growing.flush().unwrap();
        assert!(!growing.has_news());
        let recording = Recording::read(path.as_ref()).unwrap();
        assert_eq!(recording.messages.len(), expected.len(), "round {round}");
    }
    growing.join().unwrap();
    whole(&std::fs::read(&path).unwrap());
    let recording = Recording::read(path.as_ref()).unwrap();
    assert_eq!(recording.text.as_deref(), Some("a test"));
    let read =
        recording.messages.into_iter().map(|message| (message.at.as_micros(), message.bytes));
    assert_eq!(read.collect::<Vec<_>>(), expected);
}

#[test]
fn what_is_there_already_is_not_lost_by_accident() {
    let folder = Folder::new();
    let note = || vec![0x90, 60, 80];
    let run = |file: &str, more: &[&str]| {
        Run::of(&mut command(&[&["record", file, "--raw", "-"], more].concat()), note())
    };
    let old = folder.write("old.mid", "an old recording");
    run(&old, &[]).refused(code::OUTPUT, &["old.mid is there already", "--replace"]);
    assert_eq!(std::fs::read(&old).unwrap(), b"an old recording");
    run(&old, &["--replace"]).done();
    assert_eq!(whole(&std::fs::read(&old).unwrap()), 1);
    run(&folder.path("new.mid"), &[]).done();
    assert_eq!(whole(&std::fs::read(folder.path("new.mid")).unwrap()), 1);
    run(&folder.path(""), &["--replace"]).refused(code::OUTPUT, &["is a folder"]);
    run("/dev/null", &["--replace"]).refused(code::OUTPUT, &["/dev/null is no file"]);
    run(&folder.path("no/such/a.mid"), &[])
        .refused(code::OUTPUT, &["a.mid could not be written", "Is there such a folder?"]);
    let missing = evenhand(&["record", &folder.path("b.mid"), "--raw", "/no/such/device"]);
    missing.refused(code::LIVE, &["cannot listen to /no/such/device"]);
    assert!(!folder.as_ref().join("b.mid").exists(), "nothing came, and a file was made");
}

/// Before a file is too large to be judged, the recording goes on in the next.
#[test]
fn a_long_recording_has_several_files() {
    let folder = Folder::new();
    let file = folder.path("long.mid");
    let notes = 2_000_000;
    let input = [0x90, 60, 80].repeat(notes);
    let run = Run::of(&mut command(&["record", &file, "--raw", "-"]), input);
    let second = folder.path("long-2.mid");
    assert!(run.done().out.contains(&format!("{file} to {second}: {notes} messages.")), "{run:?}");
    let held = [&file, &second].map(|file| whole(&std::fs::read(file).unwrap()));
    assert!(held[0] > notes / 2 && held[0] + held[1] == notes, "{held:?}");
}

/// Files may not grow: what was on the disk stays whole, and it is said.
#[test]
fn a_disk_that_takes_no_more_is_told() {
    let folder = Folder::new();
    let file = folder.path("take.mid");
    let mut limited = Command::new("sh");
    // The signal would end the program; without it, writing fails. A block has 512 bytes.
    limited.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "sh"]);
    limited.arg(evenhand_tests::program::path()).args(["record", &file, "--raw", "-"]);
    let run = Run::of(limited.stdout(Stdio::piped()), [0x90, 60, 80, 0x80, 60, 64].repeat(400));
    run.refused(code::OUTPUT, &["take.mid could not be written", "Is the disk full?"]);
    whole(&std::fs::read(&file).unwrap());
}
