//! Output that nobody reads, or that finds no room.

use evenhand_tests::program;
use evenhand_tests::run::{Run, bundled, code, command};
use std::fs::OpenOptions;
use std::io::{BufRead, BufReader, Read};
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let run = Run::of(
        Command::new("bash")
            .args(["-c", "set -o pipefail; \"$0\" demo | head -1"])
            .arg(program::path())
            .stdout(Stdio::piped()),
        Vec::new(),
    );
    assert_eq!(run.done().out.lines().count(), 1);
}

#[test]
fn a_reader_that_goes_away_at_once_is_no_error() {
    let study = bundled("studies/lantern-quay.study");
    let good = bundled("performances/bells-one-clean.mid");
    for arguments in [
        &["demo"][..],
        &["demo", "--events"],
        &["judge", &study, &good, &good, "--events"],
        &["study", "show", &study],
        &["study", "check", &study],
    ] {
        let mut child = command(arguments).stderr(Stdio::piped()).spawn().expect("it starts");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(output.status.code(), Some(code::DONE), "{arguments:?}: {output:?}");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    }
}

/// A stream that goes on after its reader went away ends with the next verdict.
#[test]
fn listening_ends_when_nobody_reads_the_verdicts() {
    let study = bundled("studies/small.study");
    let mut child = command(&["listen", &study, "--raw", "-", "--events"])
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let mut input = child.stdin.take().expect("its input is a pipe");
    // The notes of the study, in running status.
    let notes = [0x90, 43, 80, 45, 81, 47, 79, 48, 80, 50, 82, 52, 80, 54, 81, 55, 80];
    std::io::Write::write_all(&mut input, &notes).expect("it reads");
    // The pipe stays open: only the verdict after the silence can end it. So that a program that
    // goes on listening does not hang the tests, the pipe is closed in the end.
    let patient = thread::spawn(move || {
        thread::sleep(Duration::from_secs(20));
        drop(input);
    });
    let output = child.wait_with_output().expect("it ends");
    assert!(!patient.is_finished(), "it went on until its input ended");
    assert_eq!(output.status.code(), Some(code::DONE), "{output:?}");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
fn a_full_disk_is_told() {
    let study = bundled("studies/lantern-quay.study");
    let good = bundled("performances/bells-one-clean.mid");
    for arguments in [
        &["demo"][..],
        &["demo", "--events"],
        &["judge", &study, &good],
        &["judge", &study, &good, "--events"],
        &["study", "show", &study],
        &["study", "check", &study],
    ] {
        let full = OpenOptions::new().write(true).open("/dev/full").expect("a full device");
        let run = Run::of(command(arguments).stdout(full), Vec::new());
        run.refused(code::OUTPUT, &["the result could not be written", "Is the disk full?"]);
    }
}

/// Whoever waits for a verdict has each line when it is written, not when a block is full.
#[test]
fn the_first_line_of_events_can_be_read_on_its_own() {
    let mut child = command(&["demo", "--events"]).spawn().expect("it starts");
    let mut lines = BufReader::new(child.stdout.take().expect("its output is a pipe"));
    let mut first = String::new();
    lines.read_line(&mut first).expect("it can be read");
    assert!(first.starts_with("{\"kind\":\"stream\",\"version\":1"), "{first}");
    let mut rest = String::new();
    lines.read_to_string(&mut rest).expect("it can be read");
    assert!(child.wait().expect("it ends").success());
}
