//! Chunks played one after another without a stop: whatever is amiss on the way is told.

use crate::practice_streams::heard::listen;
use crate::practice_streams::studies::{DECKS, chunks};
use evenhand_core::units::Offset;
use evenhand_tests::run::{Folder, evenhand};
use evenhand_tests::timed::{Slip, Stream};

/// Eighths as `--events` writes their places.
fn place(bar: u64, eighth: usize) -> (u64, String) {
    let beat = eighth / 2 + 1;
    (bar, if eighth.is_multiple_of(2) { beat.to_string() } else { format!("{beat} 1/2") })
}

#[test]
fn a_clean_one_is_one_attempt() {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(1);
    chunks.iter().for_each(|chunk| stream.whole(chunk));
    let heard = listen(DECKS, &stream);
    assert_eq!(heard.said(), [("Gangway to Stern", "passed")], "{heard:?}");
    assert_eq!(heard.false_starts, []);
}

/// A slip anywhere in a chunk between others: the chunk does not vanish, the slip has its place.
#[test]
fn a_slip_in_the_middle_is_told_wherever_it_is() {
    let chunks = chunks(DECKS);
    let mut others = Vec::new();
    for event in 0..8 {
        for slip in [Slip::Wrong(event, 1), Slip::Wrong(event, -6), Slip::LeftOut(event)] {
            let mut stream = Stream::new(event as u64);
            stream.whole(&chunks[0]);
            stream.part(&chunks[1], 0..8, &[slip]);
            stream.whole(&chunks[2]);
            let heard = listen(DECKS, &stream);
            let what = match slip {
                Slip::LeftOut(_) => "missing-notes",
                _ => "wrong-notes",
            };
            let told = heard.attempts.first().and_then(|told| told.finding(what));
            let is_told = told.is_some_and(|found| {
                found.place == Some(place(2, event)) && (found.count, found.size) == (1, 1)
            });
            if heard.said() != [("Gangway to Cabin", "needs work")] || !is_told {
                others.push((slip, heard.attempts));
            }
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

#[test]
fn a_note_too_many_in_the_middle_is_told() {
    let chunks = chunks(DECKS);
    let mut others = Vec::new();
    for event in 0..8 {
        let mut stream = Stream::new(event as u64);
        stream.whole(&chunks[0]);
        stream.part(&chunks[1], 0..8, &[Slip::Extra(event, 68)]);
        stream.whole(&chunks[2]);
        let heard = listen(DECKS, &stream);
        let told = heard.attempts.first().and_then(|told| told.finding("extra-notes"));
        let is_told = told.is_some_and(|found| (found.count, found.size) == (1, 1));
        if heard.said() != [("Gangway to Cabin", "needs work")] || !is_told {
            others.push((event, heard.attempts));
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

/// Half a beat is still played through; from one and a half times what passes on, the time that is
/// lost between two chunks is told.
#[test]
fn a_stop_at_a_seam_is_told_there_at_each_level() {
    let chunks = chunks(DECKS);
    let mut others = Vec::new();
    for level in ["first", "steady", "performance"] {
        let text = DECKS.replace("tempo   92", &format!("tempo   92\nlevel   {level}"));
        let chunk = &crate::practice_streams::studies::chunks(&text)[0];
        let eighth = chunk.tempo.lasting(chunk.metre.beat()).as_micros() / 2;
        let limit = chunk.tolerances.hesitation.at(Offset::from_micros(eighth)).as_micros();
        let most = eighth - 15_000;
        for stop in [limit * 3 / 2 + 1, limit * 2, limit * 3].map(|stop| stop.min(most)) {
            assert!(stop * 2 >= limit * 3, "{level}: no room between the limit and a break");
            for seam in 1..4_u64 {
                let mut stream = Stream::new(seam);
                for (chunk, at) in chunks.iter().zip(0..) {
                    stream.rest(if at == seam {
                        u64::from(stop.unsigned_abs()).div_ceil(1_000)
                    } else {
                        0
                    });
                    stream.whole(chunk);
                }
                let heard = listen(&text, &stream);
                let told = heard.attempts.first().and_then(|told| told.finding("hesitation"));
                let is_told = told.is_some_and(|found| {
                    found.place == Some(place(seam + 1, 0)) && found.bearing == "fails"
                });
                if heard.said() != [("Gangway to Stern", "needs work")] || !is_told {
                    others.push((level, stop, seam, heard.attempts));
                }
            }
        }
    }
    assert!(others.is_empty(), "{others:#?}");
}

#[test]
fn stops_at_all_seams_are_counted() {
    let chunks = chunks(DECKS);
    let mut stream = Stream::new(4);
    for chunk in &chunks {
        stream.whole(chunk);
        stream.rest(200);
    }
    let heard = listen(DECKS, &stream);
    assert_eq!(heard.said(), [("Gangway to Stern", "needs work")]);
    let told = heard.attempts[0].finding("hesitation").expect("three stops");
    assert_eq!((told.count, &told.place), (3, &Some(place(2, 0))));
}

/// The exit code is by the verdict, whatever way there was.
#[test]
fn the_exit_code_tells_of_a_slip_in_the_middle() {
    let chunks = chunks(DECKS);
    let folder = Folder::new();
    let study = folder.write("decks.study", DECKS);
    for (slips, code) in [(&[][..], 0), (&[Slip::LeftOut(3)][..], 1)] {
        let mut stream = Stream::new(9);
        stream.whole(&chunks[0]);
        stream.part(&chunks[1], 0..8, slips);
        stream.whole(&chunks[2]);
        let lines = folder.write("stream.txt", stream.lines());
        let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--no-log"];
        let run = evenhand(&[&words[..], &["--exit-by-verdict"]].concat());
        assert_eq!(run.code, code, "{run:?}");
    }
}
