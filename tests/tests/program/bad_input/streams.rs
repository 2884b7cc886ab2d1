//! Raw streams that break off.

use evenhand_tests::run::{Folder, Run, bundled, code, command};
use std::fs::File;
use std::io::Write;
use std::process::Command;
use std::thread;

/// Has the program listen to a FIFO into which these bytes are written before its writer goes
/// away.
fn through_a_fifo(bytes: &'static [u8]) -> Run {
    let folder = Folder::new();
    let fifo = folder.path("fifo");
    let made = Command::new("mkfifo").arg(&fifo).status().expect("mkfifo can be started");
    assert!(made.success());
    let study = bundled("studies/small.study");
    let arguments = ["listen", &study, "--raw", &fifo, "--events", "--exit-by-verdict"];
    let mut listen = command(&arguments);
    let writer = thread::spawn(move || {
        // Opening it waits for the program to listen.
        File::create(fifo).and_then(|mut fifo| fifo.write_all(bytes)).expect("it is read");
    });
    let run = Run::of(&mut listen, Vec::new());
    writer.join().expect("the writer is done");
    assert_eq!(run.err, "");
    run
}

#[test]
fn a_writer_that_goes_away_inside_a_message_leaves_what_is_whole() {
    // All notes of the study but the last, in running status, and two thirds of that.
    let run =
        through_a_fifo(&[0x90, 43, 80, 45, 81, 47, 79, 48, 80, 50, 82, 52, 80, 54, 81, 0x90, 55]);
    let events = run.events();
    let attempt = events.iter().find(|event| event["kind"] == "attempt").expect("an attempt");
    assert_eq!(attempt["played_notes"], 7, "{run:?}");
    let missing: Vec<_> = events.iter().filter(|event| event["kind"] == "missing").collect();
    assert_eq!(missing.len(), 1, "{run:?}");
    assert_eq!((&missing[0]["expected"], &missing[0]["pitch"]), (&7.into(), &55.into()));
    assert_eq!(run.code, code::NEEDS_WORK, "{run:?}");
}

#[test]
fn a_writer_that_goes_away_inside_the_first_message_leaves_nothing() {
    for bytes in [&[][..], &[0x90], &[0x90, 43], &[0xf0, 1, 2], &[0xfe]] {
        let run = through_a_fifo(bytes);
        let last = run.events().pop().expect("it says something");
        assert_eq!(last["kind"], "nothing", "{bytes:?}: {run:?}");
        assert_eq!(last["played_notes"], 0, "{bytes:?}: {run:?}");
        assert_eq!(run.code, code::UNCLEAR, "{bytes:?}: {run:?}");
    }
}
