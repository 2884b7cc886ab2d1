//! Whatever is told is told in the order in which it was played, in the stream and in the log.

use crate::practice_streams::heard::heard;
use crate::practice_streams::studies::{DECKS, chunks};
use evenhand_tests::run::{Folder, evenhand};
use evenhand_tests::timed::{Slip, Stream};
use serde_json::Value;

/// Practice with something of everything.
fn practised() -> Stream {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(21);
    for round in 0..3 {
        stream.whole(&chunks[0]);
        stream.rest(500);
        stream.part(&chunks[1], 0..4, &[]);
        stream.rest(400);
        stream.whole(&chunks[1]);
        stream.part(&chunks[2], 0..8, &[Slip::Wrong(round, 1)]);
        stream.rest(2_500);
        stream.part(&chunks[3], 0..4, &[]);
        stream.rest(2_500);
        for _ in 0..4 {
            stream.part(&chunks[3], 2..7, &[]);
        }
        stream.rest(1_200);
        stream.part(&chunks[0], 0..4, &[]);
        stream.rest(300);
        chunks.iter().for_each(|chunk| stream.whole(chunk));
        stream.rest(4_000);
    }
    stream
}

#[test]
fn the_stream_is_in_order_and_so_is_the_log() {
    let folder = Folder::new();
    let (study, data) = (folder.write("decks.study", DECKS), folder.path("data"));
    let lines = folder.write("stream.txt", practised().lines());
    let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--data", &data];
    let run = evenhand(&[&words[..], &["--events"]].concat());
    let told = heard(&run.done().events());
    assert!(told.attempts.len() >= 20, "{:#?}", told.said());
    assert!(told.false_starts.len() >= 6, "{:?}", told.false_starts);
    assert!(told.times.is_sorted(), "{:?}", told.times);

    let run = evenhand(&["history", "--events", "--data", &data]);
    let began: Vec<f64> = run
        .done()
        .events()
        .iter()
        .filter(|event| event["kind"] == "kept-attempt")
        .map(|event| seconds(&event["began_at"]))
        .collect();
    assert_eq!(began.len(), told.attempts.len());
    // As far apart as they were played, to the milliseconds that the log keeps.
    for (kept, told) in began.windows(2).zip(told.attempts.windows(2)) {
        let played = (told[1].at_us - told[0].at_us) as f64 / 1e6;
        let kept = (kept[1] - kept[0]).rem_euclid(86_400.0);
        assert!((kept - played).abs() < 0.003, "{kept} s kept, {played} s played: {told:?}");
    }
}

/// Seconds of the day of a time such as `2026-03-31T08:00:30.000Z`.
fn seconds(at: &Value) -> f64 {
    let text = at.as_str().expect("a time");
    let clock = text.split_once('T').expect("a date and a time").1.trim_end_matches('Z');
    clock.split(':').fold(0.0, |sum, part| sum * 60.0 + part.parse::<f64>().expect("a number"))
}
