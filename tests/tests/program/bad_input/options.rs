//! Wrong command lines.

use evenhand_tests::run::{Run, bundled, code, evenhand};

/// What the command line's own reader refuses begins with another word.
fn not_understood(run: &Run, words: &[&str]) {
    assert_eq!(run.code, code::USAGE, "{run:?}");
    assert_eq!(run.out, "", "{run:?}");
    for word in words {
        assert!(run.err.contains(word), "no “{word}” in {run:?}");
    }
}

#[test]
fn wrong_options_are_refused_with_a_hint() {
    let (study, good) =
        (bundled("studies/small.study"), bundled("performances/bells-one-clean.mid"));
    let (study, good) = (study.as_str(), good.as_str());
    let cases: [(&[&str], &[&str]); 14] = [
        (&[], &["Usage: evenhand <COMMAND>"]),
        (&["juge", study, good], &["'juge'", "'judge'", "--help"]),
        (&["judge"], &["<STUDY>", "Usage:"]),
        (&["judge", study], &["<RECORDINGS>", "Usage:"]),
        (&["judge", study, good, "--event"], &["'--event'", "'--events'"]),
        (&["judge", study, good, "--level", "hard"], &["'hard'", "steady", "performance"]),
        (&["judge", study, good, "--tempo", "fast"], &["'fast'", "--tempo <BEATS>"]),
        (&["judge", study, good, "--tempo", "-5"], &["'-5'", "--help"]),
        (&["judge", study, good, "--tempo", "99999999999"], &["'99999999999'", "--tempo"]),
        (&["judge", study, good, "--channels", "two"], &["'two'", "string", "one"]),
        (&["judge", "--expected", good], &["--played <PERFORMANCE.mid>"]),
        (&["judge", study, good, "--expected", good, "--played", good], &["cannot be used with"]),
        (&["listen"], &["<STUDY>"]),
        (&["study"], &["Usage: evenhand study <COMMAND>"]),
    ];
    for (arguments, words) in cases {
        not_understood(&evenhand(arguments), words);
    }
}

#[test]
fn a_chunk_that_is_not_there_is_told_with_those_that_are() {
    let (study, good) =
        (bundled("studies/lantern-quay.study"), bundled("performances/bells-one-clean.mid"));
    let words =
        ["no chunk “Lighthouse”", "Its chunks are “Lanterns, one”, ", "“The last lamp”; a part"];
    evenhand(&["judge", &study, &good, "--chunk", "Lighthouse"]).refused(code::USAGE, &words);
    evenhand(&["study", "show", &study, "--chunk", "Lighthouse"]).refused(code::USAGE, &words);
    evenhand(&["listen", &study, "--raw", "-", "--chunk", "Lighthouse"])
        .refused(code::USAGE, &words);
    // Capital letters or small ones: who types a name should not have to mind.
    evenhand(&["study", "show", &study, "--chunk", "lanterns, ONE"]).done();
    evenhand(&["study", "show", &study, "--chunk", "Lantern"]).done();
    let near = ["Did you mean “Lanterns, two”?"];
    evenhand(&["study", "show", &study, "--chunk", "Lanterns two"]).refused(code::USAGE, &near);
}

#[test]
fn a_tempo_that_nobody_practises_at_is_refused_with_those_that_are_taken() {
    let (study, good) =
        (bundled("studies/small.study"), bundled("performances/bells-one-clean.mid"));
    for (tempo, taken) in [("0", false), ("9", false), ("10", true), ("1500", true)] {
        let run = evenhand(&["judge", &study, &good, "--tempo", tempo]);
        if taken {
            run.done();
        } else {
            let what = format!("{tempo} beats a minute is no tempo");
            run.refused(code::USAGE, &[&what, "Choose one from 10 to 1500."]);
        }
    }
    for arguments in [
        ["judge", &study, &good, "--tempo", "10000"],
        ["judge", &study, &good, "--tempo", "4294967295"],
        ["listen", &study, "--raw=-", "--tempo", "10000"],
    ] {
        evenhand(&arguments)
            .refused(code::USAGE, &["is no tempo to practise at", "from 10 to 1500"]);
    }
}
