//! What is kept beside verdicts: notes that can be judged again, next steps, the end by hand.

use evenhand::log::{Log, Sitting, State, Step, StudyText, unpack};
use evenhand::smf::{Recording, Timed, write};
use evenhand_core::units::Instant;
use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, study};
use evenhand_tests::run::{Folder, Run, bundled, code, command, evenhand};
use std::io::Read;
use std::io::Write;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

/// A bundled recording, sent as it was played.
fn send(name: &str, to: &mut dyn Write) {
    let path = bundled(&format!("performances/{name}.mid"));
    let messages = Recording::read(path.as_ref()).unwrap().messages;
    let start = std::time::Instant::now();
    for message in messages {
        thread::sleep(
            Duration::from_micros(message.at.as_micros()).saturating_sub(start.elapsed()),
        );
        to.write_all(&message.bytes).unwrap();
    }
}

/// The study and the notes in the log are all that another judge needs.
#[test]
fn what_was_kept_can_be_judged_again() {
    let folder = Folder::new();
    let quay = bundled("studies/lantern-quay.study");
    let mut child =
        command(&["listen", &quay, "--raw", "-", "--events", "--channels", "string", "--data"])
            .arg(folder.path(""))
            .stdin(Stdio::piped())
            .spawn()
            .unwrap();
    let mut to = child.stdin.take().unwrap();
    send("shifts-hesitation", &mut to);
    drop(to);
    let output = child.wait_with_output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let live = Run { code: code::DONE, out, err: String::new() }.verdicts();

    let log = kept::open(&folder);
    let (text, notes): (String, Vec<u8>) = log
        .query_row(
            "SELECT studies.text, attempts.notes FROM attempts \
             JOIN sittings ON sittings.id = attempts.sitting \
             JOIN studies ON studies.hash = sittings.study_hash",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .unwrap();
    assert_eq!(text, std::fs::read_to_string(&quay).unwrap());
    let mut messages = Vec::new();
    for note in unpack(&notes).unwrap() {
        let at = |us: i32| Instant::from_micros(1_000_000 + us as u64);
        let channel = note.string.unwrap() - 1;
        let begins = Some((channel, note.pitch));
        let bytes = vec![0x90 | channel, note.pitch, note.velocity.unwrap()];
        messages.push(Timed { at: at(note.at_us), bytes, begins });
        if let Some(lasted) = note.lasted_us {
            let bytes = vec![0x80 | channel, note.pitch, 64];
            messages.push(Timed { at: at(note.at_us + lasted), bytes, begins: None });
        }
    }
    messages.sort_by_key(|message| (message.at, message.begins.is_some()));
    let again = folder.write("again.mid", write::file(&messages, "again"));
    let study = folder.write("again.study", text);
    let judged = evenhand(&["judge", &study, &again, "--events", "--channels", "string"]);
    assert_eq!(judged.done_verdicts(), live);
    assert_eq!(live.len(), 1);
}

#[test]
fn next_steps_are_kept_with_their_sitting() {
    let folder = Folder::new();
    let sitting = Sitting {
        began: "2026-03-31T08:00:00Z".parse().unwrap(),
        who: None,
        study: StudyText { path: "/a.study".into(), name: "A".into(), text: "a".into() },
        level: None,
        beats_a_minute: None,
        channels: "auto".into(),
        source: "standard input".into(),
        pickup: Some(("stage".into(), "00000000000000bb".into())),
    };
    let mut log = Log::begin(Ok(folder.as_ref().to_owned()), sitting);
    for (after_attempt, step) in [(None, "begin"), (Some(3), "slower")] {
        log.keep_step(Step {
            taken: "2026-03-31T08:05:00Z".parse().unwrap(),
            after_attempt,
            step: step.into(),
            details: "{\"beats\":56}".into(),
        });
        assert_eq!(log.state(), State::Kept);
    }
    log.close();
    assert_eq!(log.unwritten(), 0);
    let log = kept::open(&folder);
    let steps = "SELECT count(*) FROM steps JOIN sittings ON sittings.id = steps.sitting";
    assert_eq!(kept::number(&log, steps), 2);
    let last = "SELECT after_attempt FROM steps WHERE step = 'slower' AND number = 2";
    assert_eq!(kept::number(&log, last), 3);
    assert_eq!(kept::number(&log, "SELECT count(*) FROM sittings WHERE pickup_name = 'stage'"), 1);
}

/// A live port has no end; whoever has enough presses Ctrl-C, and is told what became of it.
#[test]
fn ending_by_hand_ends_properly() {
    let folder = Folder::new();
    let mut child = command(&["listen", &study(), "--raw", "-", "--data", &folder.path("")])
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut out = child.stdout.take().unwrap();
    let mut player = Looping::new(9, Duration::from_millis(4));
    player.attempt(&mut to).unwrap();
    player.attempt(&mut to).unwrap();
    let mut first = [0; 7];
    out.read_exact(&mut first).unwrap();
    let pid = child.id().to_string();
    assert!(Command::new("kill").args(["-INT", &pid]).status().unwrap().success());
    let mut text = String::new();
    out.read_to_string(&mut text).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(code::DONE), "{output:?}");
    assert!(text.contains("This sitting\n  Eight steps: 2 attempts, none passed"), "{text}");
    let log = kept::open(&folder);
    assert_eq!(kept::number(&log, "SELECT count(*) FROM attempts"), 2);
    drop(to);
}
