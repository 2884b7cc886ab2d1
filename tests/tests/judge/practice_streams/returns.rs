//! Going back some notes and finishing is one attempt with a return; leaving some out is one with a
//! gap.

use crate::practice_streams::heard::listen;
use crate::practice_streams::studies::{CROSSING, DECKS, chunks};
use evenhand_tests::timed::{Slip, Stream};

/// Eighths of the crossing as `--events` writes their places.
fn place(event: usize) -> (u64, String) {
    let (bar, eighth) = (event as u64 / 8 + 1, event % 8);
    let beat = eighth / 2 + 1;
    (bar, if eighth.is_multiple_of(2) { beat.to_string() } else { format!("{beat} 1/2") })
}

#[test]
fn going_back_is_told_as_a_return_where_it_was() {
    let chunk = &chunks(CROSSING)[0];
    let mut others = Vec::new();
    for back in 2..=8 {
        // Once from the middle, once from between two beats, once near the end.
        for reached in [16, 19, 26] {
            // The hand stops a little, as it does, or does not.
            for pause in [0, 400] {
                let mut stream = Stream::new(back as u64);
                stream.part(chunk, 0..reached, &[]);
                stream.rest(pause);
                stream.part(chunk, reached - back..32, &[]);
                let heard = listen(CROSSING, &stream);
                let told = heard.attempts.first().and_then(|told| told.finding("return"));
                let is_told = told.is_some_and(|found| {
                    found.place == Some(place(reached))
                        && (found.count, found.size) == (1, back as i64)
                });
                let alone = heard.attempts.first().map(|told| told.findings.len()) == Some(1);
                if heard.said() != [("Crossing", "needs work")] || !is_told || !alone {
                    others.push((back, reached, pause, heard.attempts));
                }
            }
        }
    }
    assert!(others.is_empty(), "{} of 42: {others:#?}", others.len());
}

/// A wrong note, and back to before it: the note was mended, the return stays.
#[test]
fn a_wrong_note_that_is_mended_is_a_return() {
    let chunk = &chunks(CROSSING)[0];
    for back in 2..=6 {
        let mut stream = Stream::new(7 + back as u64);
        stream.part(chunk, 0..20, &[Slip::Wrong(19, 1)]);
        stream.rest(300);
        stream.part(chunk, 20 - back..32, &[]);
        let heard = listen(CROSSING, &stream);
        assert_eq!(heard.said(), [("Crossing", "needs work")], "{heard:#?}");
        let kinds: Vec<&str> =
            heard.attempts[0].findings.iter().map(|found| found.what.as_str()).collect();
        assert_eq!(kinds, ["return"], "{back} notes: {heard:#?}");
    }
}

#[test]
fn two_returns_are_counted() {
    let chunk = &chunks(CROSSING)[0];
    let mut stream = Stream::new(5);
    stream.part(chunk, 0..10, &[]);
    stream.part(chunk, 7..22, &[]);
    stream.part(chunk, 17..32, &[]);
    let heard = listen(CROSSING, &stream);
    assert_eq!(heard.said(), [("Crossing", "needs work")], "{heard:#?}");
    let told = heard.attempts[0].finding("return").expect("two returns");
    assert_eq!((told.count, told.size, &told.place), (2, 5, &Some(place(10))));
}

/// A return in the middle of chunks that are played through: the way stays one attempt.
#[test]
fn a_return_in_a_play_through_is_told_in_it() {
    let chunks = chunks(DECKS);
    let mut others = Vec::new();
    for back in 2..=4 {
        let mut stream = Stream::new(back as u64);
        stream.whole(&chunks[0]);
        stream.part(&chunks[1], 0..6, &[]);
        stream.part(&chunks[1], 6 - back..8, &[]);
        stream.whole(&chunks[2]);
        let heard = listen(DECKS, &stream);
        let told = heard.attempts.first().and_then(|told| told.finding("return"));
        let is_told = told.is_some_and(|found| found.place == Some((2, "4".to_owned())));
        if heard.said() != [("Gangway to Cabin", "needs work")] || !is_told {
            others.push((back, heard.attempts));
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

/// Leaving notes out and going on, in time or as if they were not there.
#[test]
fn a_gap_is_an_attempt_with_notes_that_did_not_come() {
    let chunk = &chunks(CROSSING)[0];
    let mut others = Vec::new();
    for left_out in 2..=8_usize {
        for from in [10, 16] {
            for waits in [false, true] {
                // Two seconds of silence are an end, whatever is written.
                if waits && (left_out + 1) * 326 >= 1_900 {
                    continue;
                }
                let mut stream = Stream::new(left_out as u64);
                stream.part(chunk, 0..from, &[]);
                // An eighth at 92 beats a minute lasts 326 ms.
                stream.rest(if waits { 326 * left_out as u64 } else { 0 });
                stream.part(chunk, from + left_out..32, &[]);
                let heard = listen(CROSSING, &stream);
                let told = heard.attempts.first().and_then(|told| told.finding("missing-notes"));
                let is_told = told.is_some_and(|found| {
                    found.place == Some(place(from)) && found.size == left_out as i64
                });
                if heard.said() != [("Crossing", "needs work")] || !is_told {
                    others.push((left_out, from, waits, heard.attempts));
                }
            }
        }
    }
    assert!(others.is_empty(), "{}: {others:#?}", others.len());
}
