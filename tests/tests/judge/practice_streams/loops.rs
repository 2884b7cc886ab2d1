//! A part that is looped is told as that part: which, how often, and how it went each time.

use crate::practice_streams::heard::{Heard, listen, read};
use crate::practice_streams::studies::{CROSSING, DECKS, chunks};
use evenhand_tests::timed::{Slip, Stream};
use std::ops::Range;

/// Times round.
const TIMES: usize = 9;

/// Loops some events of the crossing; the times round in `slipped` have a wrong note.
fn looped(part: Range<usize>, pause: u64, slipped: &[usize]) -> Stream {
    let chunk = &chunks(CROSSING)[0];
    let mut stream = Stream::new(part.start as u64);
    for time in 0..TIMES {
        let slips = [Slip::Wrong(part.start + 3, 1)];
        let slips = if slipped.contains(&time) { &slips[..] } else { &[] };
        stream.part(chunk, part.clone(), slips);
        stream.rest(pause);
    }
    stream
}

/// The parts that are tried, and what they are called.
const PARTS: [(Range<usize>, &str); 5] = [
    (0..16, "Crossing, bars 1 to 2"),
    (16..32, "Crossing, bars 3 to 4"),
    (8..16, "Crossing, bar 2"),
    (12..20, "Crossing, bar 2, beat 3 to bar 3, the “and” of 2"),
    (17..23, "Crossing, bar 3, the “and” of 1 to beat 4"),
];

fn is_told(heard: &Heard, name: &str, slipped: &[usize]) -> bool {
    heard.false_starts.is_empty()
        && heard.attempts.len() == TIMES
        && heard.attempts.iter().enumerate().all(|(time, told)| {
            let outcome = if slipped.contains(&time) { "needs work" } else { "passed" };
            told.said() == (name, outcome) && told.part_of.as_deref() == Some("Crossing")
        })
}

#[test]
fn a_looped_part_is_told_with_its_verdict_each_time() {
    let mut others = Vec::new();
    for (part, name) in PARTS {
        for pause in [0, 350] {
            let heard = listen(CROSSING, &looped(part.clone(), pause, &[]));
            if !is_told(&heard, name, &[]) {
                others.push((part.clone(), pause, heard.said().concat_names(), heard.false_starts));
            }
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

#[test]
fn how_it_went_is_told_of_each_time_round() {
    let slipped = [1, 2, 6];
    let mut others = Vec::new();
    for (part, name) in PARTS {
        let heard = listen(CROSSING, &looped(part.clone(), 200, &slipped));
        if !is_told(&heard, name, &slipped) {
            others.push((part.clone(), heard.said().concat_names()));
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

/// After the loop the whole of it: the loop is over, and the whole is an attempt of its own.
#[test]
fn the_whole_after_a_loop_is_an_attempt_at_the_whole() {
    let chunk = &chunks(CROSSING)[0];
    for (part, name) in PARTS {
        let mut stream = looped(part, 0, &[]);
        stream.rest(2_500);
        stream.whole(chunk);
        let heard = listen(CROSSING, &stream);
        let (last, loops) = heard.attempts.split_last().expect("attempts");
        assert_eq!(last.said(), ("Crossing", "passed"), "{name}");
        assert_eq!(last.part_of, None);
        assert_eq!(loops.len(), TIMES, "{name}: {:?}", heard.said());
    }
}

/// A part across a seam is one of both neighbours.
#[test]
fn a_loop_across_a_seam_is_part_of_the_neighbours() {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(3);
    for _ in 0..TIMES {
        stream.part(&chunks[1], 4..8, &[]);
        stream.part(&chunks[2], 0..4, &[]);
        stream.rest(250);
    }
    let heard = listen(DECKS, &stream);
    assert_eq!(heard.attempts.len(), TIMES, "{:?}", heard.said());
    for told in &heard.attempts {
        assert_eq!(told.part_of.as_deref(), Some("Deck and Cabin"));
        let name = "Deck and Cabin, bar 2, beat 3 to bar 3, the “and” of 2";
        assert_eq!(told.said(), (name, "passed"));
    }
}

#[test]
fn people_read_a_line_each_time_and_a_summary_of_the_part() {
    let lines = read(CROSSING, &looped(16..32, 0, &[2, 5]));
    let told = lines.iter().filter(|line| line.starts_with("Crossing, bars 3 to 4, "));
    assert_eq!(told.count(), TIMES, "{lines:#?}");
    let summary = lines.join(" ");
    let summary = summary.split_once("This sitting").expect("a summary").1;
    let summary = summary.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        summary.contains("Crossing, bars 3 to 4: 9 attempts, 7 passed; the last passed. Most often: wrong notes (in 2)."),
        "{summary}"
    );
}

/// Chunks and verdicts in short.
trait Names {
    fn concat_names(&self) -> Vec<String>;
}

impl Names for Vec<(&str, &str)> {
    fn concat_names(&self) -> Vec<String> {
        self.iter().map(|(chunk, outcome)| format!("{chunk}: {outcome}")).collect()
    }
}
