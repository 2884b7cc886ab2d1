//! `evenhand record` and `listen --record`: the file is whole at every moment, at most a second
//! is lost, and judging it says what was said live.

use evenhand::smf::growing::Growing;
use evenhand::smf::{Recording, Timed};
use evenhand::whole_file::Overwrite;
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

/// Tells a program to end, as a system that shuts down does.
fn told_to_end(child: Child) -> Child {
    assert!(Command::new("kill").arg(child.id().to_string()).status().unwrap().success());
    child
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
    assert_eq!(names(&folder, ""), ["take.mid"]);
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
    thread::sleep(Duration::from_millis(700));
    // A FIFO is waited for, so they are told to end.
    let [listening, recording] = [listening, recording].map(told_to_end);
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
    let mut growing = Growing::begin(path.as_ref(), "a test", Overwrite::Nothing).unwrap();
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
    assert!(run.done().out.contains(&format!("{file}, {second}: {notes} messages.")), "{run:?}");
    let held = [&file, &second].map(|file| whole(&std::fs::read(file).unwrap()));
    assert!(held[0] > notes / 2 && held[0] + held[1] == notes, "{held:?}");
}

/// Files may not grow, as on a full disk, and no other place takes more: what fits is kept, and it
/// is said how much that is.
#[test]
fn a_disk_that_takes_no_more_is_told() {
    let folder = Folder::new();
    let file = folder.path("take.mid");
    let mut limited = Command::new("sh");
    // The signal would end the program; without it, writing fails. A block has 512 bytes.
    limited.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "sh"]);
    limited.arg(evenhand_tests::program::path()).args(["record", &file, "--raw", "-"]);
    limited.env(evenhand_tests::run::DATA, folder.path("data"));
    let run = Run::of(limited.stdout(Stdio::piped()), [0x90, 60, 80, 0x80, 60, 64].repeat(400));
    run.refused(code::OUTPUT, &["take.mid could not be written", "Is the disk full?"]);
    let content = std::fs::read(&file).unwrap();
    let (notes, messages) = (whole(&content), Recording::from_bytes(&content, "it").unwrap());
    // A message takes four bytes and its time: most of the block is full of them.
    assert!(notes >= 35, "{notes} notes in {} bytes", content.len());
    let kept = messages.messages.len();
    let words = format!("first {kept} of 800 messages are in {file}");
    run.refused(code::OUTPUT, &[&words]);
    assert_eq!(names(&folder, ""), ["data", "take.mid"]);
    assert!(names(&folder, "data").is_empty(), "half a recording was left");
}

/// The names in a folder, in order.
fn names(folder: &Folder, inside: &str) -> Vec<String> {
    let entries = std::fs::read_dir(folder.path(inside)).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// A run that records to a disk of 32 KiB; when it is over, what is on the disk is copied to the
/// folder. None where the system does not let a test have a disk of its own.
fn on_a_small_disk(folder: &Folder, parts: &[&[u8]]) -> Option<Run> {
    let mut may = Command::new("unshare");
    may.args(["-rm", "mount", "-t", "tmpfs", "none", &folder.path("")]);
    if !may.output().is_ok_and(|output| output.status.success()) {
        eprintln!("LEFT OUT: no disk of its own for this test (unshare and mount are needed)");
        return None;
    }
    let (disk, copy) = (folder.path("disk"), folder.path("copy"));
    std::fs::create_dir(&disk).unwrap();
    let script = "mount -t tmpfs -o size=32k none \"$1\" || exit 99; d=$1 c=$2; shift 2; \
        \"$@\"; code=$?; cp -r \"$d\" \"$c\"; exit $code";
    let mut command = Command::new("unshare");
    command.args(["-rm", "sh", "-c", script, "sh", &disk, &copy]);
    command.arg(evenhand_tests::program::path());
    command.args(["record", &folder.path("disk/take.mid"), "--raw", "-"]);
    command.env(evenhand_tests::run::DATA, folder.path("data"));
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    for part in parts {
        to.write_all(part).unwrap();
        // It is on the disk, if that takes it.
        thread::sleep(Duration::from_millis(1_200));
    }
    drop(to);
    Some(events_of(child))
}

/// There is room for the recording, but not for it and its joined copy.
#[test]
fn a_recording_that_cannot_be_joined_is_whole_in_several_tracks() {
    let folder = Folder::new();
    let parts = [[0x90, 60, 80, 0x80, 60, 64].repeat(1_000), [0x90, 61, 80].repeat(2_500)];
    let Some(run) = on_a_small_disk(&folder, &[&parts[0], &parts[1]]) else { return };
    assert_eq!(run.code, code::DONE, "{run:?}");
    assert!(run.err.contains("take.mid is whole, but stays in several tracks"), "{run:?}");
    assert_eq!(names(&folder, "copy"), ["take.mid"]);
    let content = std::fs::read(folder.path("copy/take.mid")).unwrap();
    assert_eq!(whole(&content), 3_500);
    assert!(content[11] > 1);
}

/// The disk is too small: the recording is kept on another, and it is said where.
#[test]
fn what_a_disk_has_no_room_for_is_kept_on_another() {
    let folder = Folder::new();
    let Some(run) = on_a_small_disk(&folder, &[&[0x90, 60, 80].repeat(20_000)]) else { return };
    let kept = folder.path("data/take.mid");
    let words = ["take.mid could not be written", &format!("All of it is in {kept}.")];
    run.refused(code::OUTPUT, &words);
    assert_eq!(whole(&std::fs::read(kept).unwrap()), 20_000);
    assert_eq!(names(&folder, "copy"), ["take.mid"]);
    assert!(whole(&std::fs::read(folder.path("copy/take.mid")).unwrap()) > 4_000);
}

/// Records a note, does something to the file once the note is in it, and one more note.
fn disturbed(folder: &Folder, disturb: impl FnOnce()) -> Run {
    let file = folder.path("inside/take.mid");
    std::fs::create_dir(folder.path("inside")).unwrap();
    let mut command = command(&["record", &file, "--raw", "-"]);
    command.env(evenhand_tests::run::DATA, folder.path("data"));
    let mut child = command.stdin(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    to.write_all(&[0x90, 60, 80]).unwrap();
    let start = Instant::now();
    while !std::fs::read(&file).is_ok_and(|content| whole(&content) == 1) {
        assert!(start.elapsed() < Duration::from_secs(20), "the note is not kept");
        thread::sleep(Duration::from_millis(5));
    }
    disturb();
    to.write_all(&[0x90, 61, 80]).unwrap();
    drop(to);
    events_of(child)
}

#[test]
fn a_recording_whose_folder_is_taken_away_is_kept_elsewhere() {
    let folder = Folder::new();
    let inside = folder.path("inside");
    let older = folder.path("data/take.mid");
    std::fs::create_dir(folder.path("data")).unwrap();
    std::fs::write(&older, "older").unwrap();
    let run = disturbed(&folder, || std::fs::remove_dir_all(&inside).unwrap());
    let kept = folder.path("data/take-2.mid");
    run.refused(code::OUTPUT, &["take.mid could not be written", &format!("is in {kept}.")]);
    assert_eq!(whole(&std::fs::read(kept).unwrap()), 2);
    assert_eq!(std::fs::read(older).unwrap(), b"older");
}

#[test]
fn a_file_that_took_the_place_of_the_recording_stays() {
    let folder = Folder::new();
    let (file, moved) = (folder.path("inside/take.mid"), folder.path("moved.mid"));
    let run = disturbed(&folder, || {
        std::fs::rename(&file, &moved).unwrap();
        std::fs::write(&file, "somebody's").unwrap();
    });
    let kept = folder.path("data/take.mid");
    run.refused(code::OUTPUT, &["take.mid could not be written", &format!("is in {kept}.")]);
    assert_eq!(std::fs::read(&file).unwrap(), b"somebody's");
    assert_eq!(whole(&std::fs::read(kept).unwrap()), 2);
    assert!(whole(&std::fs::read(moved).unwrap()) >= 1);
}

/// Neither somebody's file that has the name of an unfinished recording is lost, nor what a link
/// of that name leads to; and it is said, for it may hold notes.
#[test]
fn what_an_earlier_recording_left_stays() {
    let folder = Folder::new();
    let letter = folder.write("letter.txt", "somebody's");
    let left = folder.write("take.mid.part", "notes of yesterday");
    let more = folder.write("take.mid.x7.part", "more of them");
    let link = folder.path("other.mid.part");
    std::os::unix::fs::symlink(&letter, &link).unwrap();
    for (name, said) in [("take.mid", &[&left, &more][..]), ("other.mid", &[&link])] {
        let file = folder.path(name);
        let run = Run::of(
            &mut command(&["record", &file, "--raw", "-"]),
            vec![0x90, 60, 80, 0x90, 62, 80],
        );
        assert_eq!(run.code, code::DONE, "{run:?}");
        for left in said {
            assert!(run.err.contains(&format!("{left} was left")), "{run:?}");
        }
        assert_eq!(whole(&std::fs::read(&file).unwrap()), 2);
    }
    assert_eq!(std::fs::read(&letter).unwrap(), b"somebody's");
    assert_eq!(std::fs::read(&left).unwrap(), b"notes of yesterday");
    assert_eq!(std::fs::read(&more).unwrap(), b"more of them");
    assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
    let all = ["letter.txt", "other.mid", "other.mid.part"];
    let all = [&all[..], &["take.mid", "take.mid.part", "take.mid.x7.part"]].concat();
    assert_eq!(names(&folder, ""), all);
}

/// `listen` and `practice` take the option that they advise, with the meaning that it has.
#[test]
fn whoever_records_can_be_told_to_replace() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    let old = folder.write("old.mid", "an old recording");
    let input = || vec![0x90, 60, 80, 0x80, 60, 64];
    for name in ["listen", "practice"] {
        std::fs::write(&old, "an old recording").unwrap();
        // The line that is not there shows that it was not opened.
        evenhand(&[name, &study, "--raw", "/no/such/device", "--record", &old])
            .refused(code::OUTPUT, &["old.mid is there already", "--replace"]);
        evenhand(&[name, &study, "--raw", "/no/such/device", "--record", &old, "--replace"])
            .refused(code::LIVE, &["/no/such/device"]);
        assert_eq!(std::fs::read(&old).unwrap(), b"an old recording", "nothing came");
        let alone = evenhand(&[name, &study, "--raw", "-", "--replace"]);
        assert_eq!(alone.code, code::USAGE, "{alone:?}");
        let arguments = [name, &study, "--raw", "-", "--record", &old, "--replace", "--plain"];
        let run = Run::of(&mut command(&arguments), input());
        assert_eq!(run.code, code::DONE, "{run:?}");
        assert_eq!(whole(&std::fs::read(&old).unwrap()), 1);
    }
}

/// What goes on in a next file does not go on over another recording, even where the first was
/// to be replaced.
#[test]
fn a_long_recording_goes_on_beside_what_is_there() {
    let folder = Folder::new();
    let (file, third) = (folder.write("long.mid", "old"), folder.path("long-3.mid"));
    let second = folder.write("long-2.mid", "another recording");
    let input = [0x90, 60, 80].repeat(2_000_000);
    let run = Run::of(&mut command(&["record", &file, "--raw", "-", "--replace"]), input);
    assert!(run.done().out.contains(&format!("{file}, {third}: 2000000 messages.")), "{run:?}");
    assert_eq!(std::fs::read(second).unwrap(), b"another recording");
    let held = [&file, &third].map(|file| whole(&std::fs::read(file).unwrap()));
    assert_eq!(held[0] + held[1], 2_000_000);
}
