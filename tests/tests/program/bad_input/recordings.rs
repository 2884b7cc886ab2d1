//! Recordings that are whole, and hold nothing to praise.

use crate::bad_input::made::{file_of, recording};
use evenhand_tests::run::{Folder, bundled, code, evenhand};
use evenhand_tests::seeded::Seeded;

#[test]
fn an_empty_file_is_called_empty() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    let good = bundled("performances/bells-one-clean.mid");
    let empty = folder.write("empty.mid", "");
    let words = [empty.as_str(), "is empty", "Copy or record it again"];
    evenhand(&["judge", &study, &empty]).refused(code::INPUT, &words);
    evenhand(&["judge", "--expected", &empty, "--played", &good]).refused(code::INPUT, &words);
    // What is before it in the list has been judged all the same.
    let run = evenhand(&["judge", &study, &good, &empty]);
    assert!(run.refused(code::INPUT, &words).out.contains("UNCLEAR"), "{run:?}");
}

#[test]
fn a_recording_without_notes_is_unclear() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    let score = bundled("performances/bells-one-clean.mid");
    let silent = folder.write("silent.mid", recording(&[]));
    let silent = silent.as_str();
    let run = evenhand(&["judge", &study, silent]);
    assert!(run.done().out.starts_with(&format!("UNCLEAR  {silent}\n")), "{run:?}");
    assert!(run.out.contains("No notes in it") && run.out.contains("Check the cable"), "{run:?}");
    let run = evenhand(&["judge", &study, silent, "--exit-by-verdict"]);
    assert_eq!((run.code, run.err.as_str()), (code::UNCLEAR, ""));
    let last = evenhand(&["judge", &study, silent, "--events"]).done().events().pop();
    let last = last.expect("it says something");
    assert_eq!((&last["kind"], &last["verdict"]), (&"nothing".into(), &"unclear".into()));
    assert_eq!((&last["source"], &last["played_notes"]), (&silent.into(), &0.into()));
    // By a score the whole recording is one attempt, even if it is silent.
    let run = evenhand(&["judge", "--expected", &score, "--played", silent, "--events"]);
    let verdicts = run.done().verdicts();
    assert_eq!(verdicts.len(), 1, "{run:?}");
    assert_eq!(verdicts[0].outcome, "unclear");
    assert_eq!(verdicts[0].findings[0], "nothing-heard");
}

#[test]
fn a_recording_of_something_else_is_unclear() {
    let folder = Folder::new();
    for seed in 0..20 {
        // Steady eighths, a string each, from high up where the small study never goes.
        let mut seeded = Seeded::new(seed);
        let notes: Vec<_> = (0..12)
            .map(|i| {
                let string = seeded.between(0, 2) as u8;
                (500 + i * 400, string, 76 + seeded.between(0, 8) as u8)
            })
            .collect();
        let other = folder.write("other.mid", recording(&notes));
        for study in ["studies/small.study", "studies/lantern-quay.study"] {
            let run = evenhand(&["judge", &bundled(study), &other, "--events"]);
            let events = run.done().events();
            let last = events.last().expect("it says something");
            assert_eq!(last["verdict"], "unclear", "seed {seed}: {run:?}");
            for verdict in run.verdicts() {
                assert_eq!(verdict.outcome, "unclear", "seed {seed}: {verdict:?}");
            }
        }
        let run = evenhand(&["judge", &bundled("studies/small.study"), &other]);
        assert!(run.done().out.starts_with("UNCLEAR  "), "{run:?}");
        assert!(run.out.contains("No attempt in it: 12 notes came"), "{run:?}");
        assert!(run.out.contains("Something else"), "{run:?}");
        // By a score all of it is one attempt, and told to be at something else.
        let score = bundled("performances/last-steps-wrong-note.mid");
        let run = evenhand(&["judge", "--expected", &score, "--played", &other, "--events"]);
        let verdicts = run.done_verdicts();
        assert_eq!(verdicts.len(), 1, "{run:?}");
        assert_eq!(verdicts[0].outcome, "unclear", "seed {seed}: {run:?}");
        assert_eq!(verdicts[0].findings[0], "not-this-chunk", "seed {seed}: {run:?}");
    }
}

/// The reader passes over the rest of a damaged track; judging the beginning alone would blame
/// the player for the file.
#[test]
fn a_track_that_is_damaged_inside_is_refused() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    let notes = [0, 0x90, 43, 80, 60, 0x80, 43, 64];
    let end = [0, 0xff, 0x2f, 0];
    // Times of five bytes do not exist, nor does a status of F4 in a file.
    for damage in [&[0xff; 5][..], &[0, 0xf4, 1], &[0, 0xff, 0x51, 0x7f, 1]] {
        let track = [&notes[..], damage, &end].concat();
        let damaged = folder.write("damaged.mid", file_of(&track));
        let words = [damaged.as_str(), "is damaged: track 1", "Save or export it again"];
        evenhand(&["judge", &study, &damaged]).refused(code::INPUT, &words);
    }
    let endless = folder.write("endless.mid", file_of(&notes));
    evenhand(&["judge", &study, &endless]).refused(code::INPUT, &[&endless, "track 1 has no end"]);
    let whole = folder.write("whole.mid", file_of(&[&notes[..], &end].concat()));
    evenhand(&["judge", &study, &whole]).done();
}

/// A file that claims the latest time there is.
#[test]
fn times_without_measure_are_no_trouble() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    // The slowest tempo, the fewest ticks, and the longest wait before each note.
    let mut track = vec![0, 0xff, 0x51, 3, 0xff, 0xff, 0xff];
    track.extend([0xff, 0xff, 0xff, 0x7f, 0x90, 43, 80].repeat(50));
    track.extend([0, 0xff, 0x2f, 0]);
    let mut file = file_of(&track);
    (file[12], file[13]) = (0, 1);
    let late = folder.write("late.mid", file);
    let run = evenhand(&["judge", &study, &late, "--events"]);
    let last = run.done().events().pop().expect("it says something");
    assert_eq!((&last["kind"], &last["played_notes"]), (&"nothing".into(), &50.into()));
    let run = evenhand(&["judge", "--expected", &late, "--played", &late]);
    run.refused(code::INPUT, &[&late, "longer than 340 quarter notes"]);
}
