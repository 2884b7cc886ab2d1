//! Raw streams that break off.

use evenhand_tests::run::{Run, bundled, code, command};

/// Has the program listen to a pipe into which these bytes are written before its writer goes
/// away. One that has a name would be waited for.
fn through_a_pipe(bytes: &[u8]) -> Run {
    let study = bundled("studies/small.study");
    let arguments = ["listen", &study, "--raw", "-", "--events", "--exit-by-verdict"];
    let run = Run::of(&mut command(&arguments), bytes.to_vec());
    assert_eq!(run.err, "");
    run
}

#[test]
fn a_writer_that_goes_away_inside_a_message_leaves_what_is_whole() {
    // All notes of the study but the last, in running status, and two thirds of that.
    let run =
        through_a_pipe(&[0x90, 43, 80, 45, 81, 47, 79, 48, 80, 50, 82, 52, 80, 54, 81, 0x90, 55]);
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
        let run = through_a_pipe(bytes);
        let last = run.events().pop().expect("it says something");
        assert_eq!(last["kind"], "nothing", "{bytes:?}: {run:?}");
        assert_eq!(last["played_notes"], 0, "{bytes:?}: {run:?}");
        assert_eq!(run.code, code::UNCLEAR, "{bytes:?}: {run:?}");
    }
}
