//! Inputs without an end, or nearly.

use crate::bad_input::made::{file_of, recording, study};
use evenhand_tests::run::{Folder, Run, bounded, bundled, code, evenhand};
use std::fs::File;
use std::io::Write;
use std::process::Stdio;

/// What a run may take that reads no large file, in KiB of addresses. The program, its
/// libraries and the stacks of two threads take some 23 MiB.
const SMALL: u32 = 40 * 1024;

/// What a run may take for the largest files that are read at all (8 MiB). Our default: a
/// hundred times the file is a machine that anyone has.
const LARGE: u32 = 1024 * 1024;

const HUGE: u64 = 100_000_000;

/// A file of this length without content; it takes no room on the disk.
fn huge(folder: &Folder, name: &str) -> String {
    let path = folder.path(name);
    let file = File::create(&path).expect("a file can be made");
    file.set_len(HUGE).expect("a file can be made longer");
    path
}

#[test]
fn a_hundred_megabytes_are_refused_unread() {
    let folder = Folder::new();
    let (good_study, good) =
        (bundled("studies/small.study"), bundled("performances/bells-one-clean.mid"));
    let run = |arguments: &[&str]| Run::of(&mut bounded(SMALL, arguments), Vec::new());
    // A real file of that length, and one that never ends.
    for path in [huge(&folder, "huge"), "/dev/zero".to_owned()] {
        let study = [path.as_str(), "larger than 1 MiB", "too large for a study", "right file"];
        run(&["study", "check", &path]).refused(code::INPUT, &study);
        run(&["study", "show", &path]).refused(code::INPUT, &study);
        run(&["judge", &path, &good]).refused(code::INPUT, &study);
        run(&["listen", &path, "--raw", "-"]).refused(code::INPUT, &study);
        let recording = [path.as_str(), "larger than 8 MiB", "too large for a recording"];
        run(&["judge", &good_study, &path]).refused(code::INPUT, &recording);
        run(&["judge", "--expected", &good, "--played", &path]).refused(code::INPUT, &recording);
        let score = [path.as_str(), "larger than 8 MiB", "too large for a score"];
        run(&["judge", "--expected", &path, "--played", &good]).refused(code::INPUT, &score);
    }
}

#[test]
fn an_endless_stream_takes_no_more_memory_as_it_goes_on() {
    let study = bundled("studies/small.study");
    // Notes, an exclusive message that never ends, and bytes that belong to nothing.
    for (first, piece) in
        [(0x90, &[60, 80, 60, 80, 60, 80][..]), (0xf0, &[1, 2, 3, 4, 5, 6]), (0xf7, &[7; 6])]
    {
        let mut child = bounded(SMALL, &["listen", &study, "--raw", "-", "--events"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut to = child.stdin.take().expect("its input is a pipe");
        to.write_all(&[first]).expect("it reads on");
        let block = piece.repeat(10_000);
        // More than it may take, if it kept the bytes; of notes, two bytes each in running
        // status, a quarter: more than it may take, if it kept a number for each.
        let share = if first == 0x90 { 4 } else { 1 };
        for _ in 0..SMALL as usize * 1_024 / share / block.len() {
            to.write_all(&block).expect("it reads on");
        }
        drop(to);
        let output = child.wait_with_output().expect("it ends");
        assert!(output.status.success(), "{output:?}");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    }
}

/// The largest files that are read at all, full of notes.
#[test]
fn the_largest_files_are_judged_or_refused_in_bounded_memory_and_time() {
    let folder = Folder::new();
    let good_study = bundled("studies/small.study");
    let mut track = vec![0, 0x90, 60, 80];
    // Running status: three bytes a note, a minute of music in all, and no note ends.
    track.extend([0, 60, 80].repeat(8 * 1024 * 1024 / 3 - 20));
    track.extend([0, 0xff, 0x2f, 0]);
    let dense = folder.write("dense.mid", file_of(&track));
    let run = |arguments: &[&str]| Run::of(&mut bounded(LARGE, arguments), Vec::new());
    let judged = run(&["judge", &good_study, &dense, "--events"]);
    let last = judged.done().events().pop().expect("it says something");
    assert_eq!((&last["kind"], &last["verdict"]), (&"nothing".into(), &"unclear".into()));
    assert!(last["played_notes"].as_u64().is_some_and(|notes| notes > 2_000_000), "{last}");
    run(&["judge", "--expected", &dense, "--played", &dense])
        .refused(code::INPUT, &[&dense, "a chunk holds at most 256", "Cut the score into chunks"]);
}

#[test]
fn a_chunk_of_ten_thousand_notes_is_refused_and_many_chunks_of_as_many_are_not() {
    let folder = Folder::new();
    let one = folder.write("one.study", study(1, 10_000));
    let run = evenhand(&["study", "check", &one]);
    // Eight notes a line from the third on: the first that is too many begins the thirty-fifth.
    run.refused(code::STUDY, &[&one, "line 35, column 11: found more than 256 notes in a chunk"]);

    let many = folder.write("many.study", study(40, 250));
    let run = evenhand(&["study", "check", &many]);
    assert_eq!(run.done().out, format!("{many}: right (40 chunks, 10000 notes)\n"));
    let good = bundled("performances/bells-one-clean.mid");
    evenhand(&["judge", &many, &good]).done();

    let more = folder.write("more.study", study(201, 1));
    evenhand(&["study", "check", &more]).refused(code::STUDY, &[&more, "line ", "200"]);
}

#[test]
fn notes_beyond_the_room_of_an_attempt_are_counted_and_told() {
    let folder = Folder::new();
    // Closer together than any silence that ends an attempt (80 ms).
    let notes: Vec<_> = (0..600).map(|i| (i * 50, 0, 40 + (i % 30) as u8)).collect();
    let long = folder.write("long.mid", recording(&notes));
    // Against a score all that was played is one attempt.
    let score: Vec<_> = (0..256).map(|i| (i, 40 + (i % 30) as u8)).collect();
    let score = crate::bad_input::made::score(
        midly::Format::SingleTrack,
        crate::bad_input::made::quarters(),
        &score,
    );
    let score = folder.write("score.mid", score);
    let run = evenhand(&["judge", "--expected", &score, "--played", &long, "--events"]);
    let verdict = run.done().events().pop().expect("a verdict");
    assert_ne!(verdict["verdict"], "passed");
    let findings = verdict["findings"].as_array().expect("a list");
    let told = findings.iter().find(|finding| finding["what"] == "too-many-notes");
    assert_eq!(told.expect("it is told")["size"], 600 - 512, "{verdict}");
}
