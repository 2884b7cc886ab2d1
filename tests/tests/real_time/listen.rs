//! `evenhand listen --raw`: a live stream of bytes, as a pickup on a serial line sends it.
//!
//! Bytes are sent as they were played, in real time, by the test itself. Nothing is asserted
//! about exact times.

use evenhand::smf::{Recording, Timed};
use evenhand_tests::program::path;
use evenhand_tests::run::{CONFIG, Folder, Run, Verdict, bundled, command, evenhand};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

fn messages(name: &str) -> Vec<Timed> {
    let path = bundled(&format!("performances/{name}.mid"));
    Recording::read(path.as_ref()).unwrap().messages
}

fn study() -> String {
    bundled("studies/lantern-quay.study")
}

/// What a line carries beside the notes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Line {
    /// Whole messages.
    Clean,
    /// Running status, clock bytes inside messages, active sensing between them, messages that
    /// break off, and data bytes after what ended running status.
    Noisy,
}

/// Sends messages when they are due.
fn send(to: &mut dyn Write, messages: &[Timed], line: Line) {
    let start = Instant::now();
    let first = messages.first().unwrap().at;
    let mut status = 0;
    for (index, message) in messages.iter().enumerate() {
        let due = Duration::from_micros(message.at.as_micros() - first.as_micros());
        thread::sleep(due.saturating_sub(start.elapsed()));
        let mut bytes = message.bytes.clone();
        if line == Line::Noisy {
            if bytes[0] == status {
                bytes.remove(0);
            } else {
                status = bytes[0];
            }
            if index % 3 == 0 {
                bytes.insert(1, 0xf8);
            }
            if index % 5 == 0 {
                bytes.push(0xfe);
            }
            if index % 4 == 3 {
                // A tune request ends running status; what follows it belongs to nothing. Then
                // a note-on breaks off.
                bytes.extend([0xf6, 40, 90, 52, 0x90, 64]);
                status = 0;
            }
        }
        to.write_all(&bytes).unwrap();
        to.flush().unwrap();
    }
}

/// The verdict that a recording gets.
fn of_the_recording(name: &str) -> Verdict {
    let path = bundled(&format!("performances/{name}.mid"));
    let run = evenhand(&["judge", &study(), &path, "--events"]);
    let [verdict] = run.done_verdicts().try_into().expect("one attempt");
    verdict
}

/// Plays two recordings with a pause between, the second one when the first has been judged,
/// and asks for their verdicts.
fn two_attempts(child: &mut Child, mut to: impl Write, line: Line) {
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut verdict = || {
        let lines = lines.by_ref().map(Result::unwrap);
        let events = lines.map(|line| serde_json::from_str::<Value>(&line).unwrap());
        events.into_iter().find(|event| event["kind"] == "verdict")
    };
    for (attempt, name) in ["last-steps-wrong-note", "bells-one-clean"].into_iter().enumerate() {
        send(&mut to, &messages(name), line);
        let event = verdict().expect("a verdict, while the stream is open");
        assert_eq!(event["attempt"], attempt as u64 + 1);
        let (live, recorded) = (Verdict::of(&event), of_the_recording(name));
        assert_eq!((&live.chunk, &live.outcome), (&recorded.chunk, &recorded.outcome), "{live:?}");
        assert_eq!(live.findings.first(), recorded.findings.first());
        thread::sleep(Duration::from_millis(500));
    }
    drop(to);
    assert_eq!(verdict(), None);
    assert!(child.wait().unwrap().success());
}

#[test]
fn attempts_through_a_pipe_are_judged_while_they_are_played() {
    let arguments = ["listen", &study(), "--raw", "-", "--channels", "string", "--events"];
    let mut child = command(&arguments).stdin(Stdio::piped()).spawn().unwrap();
    let to = child.stdin.take().unwrap();
    two_attempts(&mut child, to, Line::Clean);
}

#[test]
fn attempts_through_the_pipe_of_a_shell_and_a_noisy_line_are_judged_alike() {
    // A pipe at a path that nobody else can open: it ends.
    let line = format!(
        "'{}' listen '{}' --raw /dev/fd/3 --channels string --events 3<&0",
        path().display(),
        study()
    );
    let mut shell = Command::new("sh");
    let mut child =
        shell.args(["-c", &line]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let to = child.stdin.take().unwrap();
    two_attempts(&mut child, to, Line::Noisy);
}

#[test]
fn bytes_that_are_poured_in_carry_no_time() {
    let bytes: Vec<u8> =
        messages("lanterns-two-clean").iter().flat_map(|message| message.bytes.clone()).collect();
    let mut command = command(&["listen", &study(), "--raw", "-", "--events"]);
    let run = Run::of(command.args(["--channels", "string"]), bytes.clone());
    let verdicts = run.done_verdicts();
    assert_eq!(verdicts.len(), 1, "{verdicts:?}");
    assert_eq!(verdicts[0].outcome, "unclear");
    assert_eq!(verdicts[0].chunk, "Lanterns, two");
    assert!(verdicts[0].findings.iter().any(|what| what == "no-time-heard"), "{verdicts:?}");
    let words = ["listen", &study(), "--raw", "-", "--channels", "string"];
    let run = Run::of(&mut evenhand_tests::run::command(&words), bytes);
    let text = run.done().out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("the stream carries no time: only the notes were judged"), "{text}");
}

/// What a live sitting teaches about the pickup is kept for the next one; a stream that tells its own
/// time, and one whose pickup was named, teach nothing that lasts.
#[test]
fn what_a_live_sitting_teaches_is_kept() {
    let folder = Folder::new();
    let settings = folder.path("settings");
    let learnt = std::path::Path::new(&settings).join("pickup-learnt.txt");
    let listen = |more: &[&str]| {
        let words = ["listen", &study(), "--raw", "-", "--channels", "string", "--no-log"];
        let mut command = command(&[&words, more].concat());
        command.env(CONFIG, &settings).stdin(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut to = child.stdin.take().unwrap();
        for name in ["lanterns-two-clean", "bells-one-clean"] {
            send(&mut to, &messages(name), Line::Clean);
            thread::sleep(Duration::from_millis(500));
        }
        drop(to);
        assert!(child.wait_with_output().unwrap().status.success());
    };
    listen(&["--no-pickup"]);
    assert!(!learnt.exists());
    listen(&[]);
    let kept = std::fs::read_to_string(&learnt).expect("it was kept");
    assert!(kept.starts_with("evenhand pickup 1") && kept.contains("notes-heard = "), "{kept}");
}
