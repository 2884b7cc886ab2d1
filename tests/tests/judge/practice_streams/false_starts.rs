//! A chunk that was begun and broken off is counted once, whatever came after it.

use crate::practice_streams::heard::{listen, read};
use crate::practice_streams::studies::{DECKS, chunks};
use evenhand_tests::run::{Folder, evenhand};
use evenhand_tests::timed::Stream;

/// The first chunk is begun once, then others come, five times.
fn begun_once(notes: usize) -> (Stream, u64) {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(notes as u64);
    stream.part(&chunks[3], 0..8, &[]);
    stream.rest(2_500);
    let at = stream.now();
    stream.part(&chunks[0], 0..notes, &[]);
    stream.rest(900);
    for _ in 0..5 {
        stream.whole(&chunks[1]);
        stream.whole(&chunks[2]);
        stream.rest(900);
    }
    (stream, at)
}

#[test]
fn it_is_one_false_start_however_much_follows() {
    for notes in 3..=5 {
        let (stream, at) = begun_once(notes);
        let heard = listen(DECKS, &stream);
        let mut wanted = vec![("Stern", "passed")];
        wanted.resize(6, ("Deck and Cabin", "passed"));
        assert_eq!(heard.said(), wanted, "{notes} notes: {heard:#?}");
        let [start] = heard.false_starts.as_slice() else { panic!("{:?}", heard.false_starts) };
        assert_eq!((start.chunk.as_str(), start.notes), ("Gangway", notes as u64));
        assert!(start.at_us.abs_diff(at) < 50_000, "{start:?}, played at {at}");
        let beat = ["2 1/2", "3", "3 1/2"][notes - 3];
        assert_eq!(start.place, Some((1, beat.to_owned())));
    }
}

/// In the log it stands with the attempt that followed it, not with the one before.
#[test]
fn the_log_keeps_it_with_the_attempt_after_it() {
    let folder = Folder::new();
    let (study, data) = (folder.write("decks.study", DECKS), folder.path("data"));
    let lines = folder.write("stream.txt", begun_once(4).0.lines());
    let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--data", &data];
    evenhand(&[&words[..], &["--events"]].concat()).done();
    let run = evenhand(&["history", "--events", "--data", &data]);
    let events = run.done().events();
    let counts: Vec<u64> =
        events.iter().filter_map(|event| event["false_starts"].as_u64()).collect();
    assert_eq!(counts, [0, 1, 0, 0, 0, 0]);
}

/// Two notes are no beginning: anybody touches a string.
#[test]
fn two_notes_are_none() {
    let heard = listen(DECKS, &begun_once(2).0);
    assert_eq!((heard.false_starts.len(), heard.attempts.len()), (0, 6), "{heard:#?}");
}

/// Who begins twice has two false starts; from three times on, the beginning is a part that is
/// looped.
#[test]
fn each_beginning_is_one() {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(8);
    for pause in [600, 2_600] {
        stream.part(&chunks[2], 0..3, &[]);
        stream.rest(pause);
    }
    stream.whole(&chunks[2]);
    let heard = listen(DECKS, &stream);
    assert_eq!(heard.said(), [("Cabin", "passed")], "{heard:#?}");
    let starts: Vec<&str> = heard.false_starts.iter().map(|start| start.chunk.as_str()).collect();
    assert_eq!(starts, ["Cabin"; 2]);
}

/// People are not bothered with them.
#[test]
fn people_read_nothing_of_it() {
    let lines = read(DECKS, &begun_once(4).0);
    let told = lines.iter().take_while(|line| *line != "This sitting").count();
    assert_eq!(told, 6, "{lines:#?}");
}
