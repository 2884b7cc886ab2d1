//! What `study check` says of what hands cannot do, and what `study gather` makes.

use evenhand_tests::run::{Folder, bundled, code, evenhand};

#[test]
fn what_no_hand_does_makes_a_study_not_right_and_what_is_hard_does_not() {
    let folder = Folder::new();
    let study = |voice: &str| format!("evenhand study 1\nchunk \"Reach\"\n  m: {voice}\n");
    let hard = folder.write("hard.study", study("1/1 6:1(1)+1:7(4)"));
    let run = evenhand(&["study", "check", &hard]);
    assert!(
        run.done().out.contains("right (one chunk, 2 notes); to look at: one place"),
        "{run:?}"
    );
    assert!(run.out.contains("“Reach”, bar 1, beat 1: 180 mm between two fingers"), "{run:?}");
    // On a smaller guitar it can be done.
    let run = evenhand(&["study", "check", &hard, "--scale", "500"]);
    assert!(!run.done().out.contains("to look at"), "{run:?}");
    let never = folder.write("never.study", study("1/1 5:3(3)+4:5(3)"));
    evenhand(&["study", "check", &never])
        .refused(code::STUDY, &["no hand does this", "finger 3 is at two frets at once"]);
    // One of several: all are looked at.
    let run = evenhand(&["study", "check", &never, &hard, &bundled("studies/small.study")]);
    assert_eq!(run.code, code::STUDY, "{run:?}");
    assert!(run.out.contains("small.study: right"), "{run:?}");
    let run = evenhand(&["study", "check", &hard, "--scale", "20"]);
    assert!(run.code == code::USAGE && run.err.contains("from 300 to 900"), "{run:?}");
}

#[test]
fn a_gathered_study_is_judged_as_before_and_never_overwrites_anything() {
    let folder = Folder::new();
    let quay = bundled("studies/lantern-quay.study");
    let (once, take) = (folder.path("once.study"), folder.path("take.mid"));
    let run = evenhand(&["study", "gather", &quay, "--out", &once]);
    assert!(run.done().out.contains("15 of 15 chunks are parts of a music"), "{run:?}");
    evenhand(&["study", "gather", &quay, "--out", &once]).refused(code::OUTPUT, &["--replace"]);
    evenhand(&["study", "gather", &once, "--out", &once, "--replace"])
        .refused(code::USAGE, &["is the study itself"]);
    let damaged = bundled("damaged/unclosed.study");
    evenhand(&["study", "gather", &damaged, "--out", &folder.path("x.study")])
        .refused(code::STUDY, &["line 3"]);
    evenhand(&["study", "play", &quay, &take, "--fault", "missing-note"]).done();
    let judged = |study: &str| evenhand(&["judge", study, &take, "--events"]).done().out.clone();
    let lines = |text: String| text.replace(&once, "S").replace(&quay, "S");
    assert_eq!(lines(judged(&once)), lines(judged(&quay)));
}
