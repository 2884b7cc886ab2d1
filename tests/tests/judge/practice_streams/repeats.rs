//! Music with repeats: the place follows what was just played, and seams between equals are judged.

use crate::practice_streams::heard::listen;
use crate::practice_streams::studies::{VERSES, chunks, waves};
use evenhand_tests::timed::Stream;

#[test]
fn near_twins_in_a_line_have_their_own_places() {
    let chunks = chunks(VERSES);
    let mut stream = Stream::new(1);
    chunks.iter().for_each(|chunk| stream.whole(chunk));
    let heard = listen(VERSES, &stream);
    assert_eq!(heard.said(), [("Verse to Close", "passed")], "{heard:#?}");
}

/// The first verse in the second one's place is a wrong note there, not another way.
#[test]
fn a_twin_in_the_place_of_the_other_is_a_slip_there() {
    let chunks = chunks(VERSES);
    let mut stream = Stream::new(2);
    for at in [0, 1, 0, 3] {
        stream.whole(&chunks[at]);
    }
    let heard = listen(VERSES, &stream);
    assert_eq!(heard.said(), [("Verse to Close", "needs work")], "{heard:#?}");
    let wrong = heard.attempts[0].finding("wrong-notes").expect("a wrong note");
    assert_eq!((wrong.count, &wrong.place), (1, &Some((3, "4 1/2".to_owned()))));
}

#[test]
fn a_twin_by_itself_has_its_own_name() {
    let chunks = chunks(VERSES);
    for (at, name) in [(0, "Verse"), (2, "Verse again")] {
        let mut stream = Stream::new(at as u64);
        for _ in 0..3 {
            stream.whole(&chunks[at]);
            stream.rest(3_000);
        }
        let heard = listen(VERSES, &stream);
        assert_eq!(heard.said(), [(name, "passed"); 3], "{heard:#?}");
    }
}

#[test]
fn the_seams_of_twins_are_judged() {
    let chunks = chunks(VERSES);
    for seam in 1..4 {
        let mut stream = Stream::new(seam as u64);
        for (at, chunk) in chunks.iter().enumerate() {
            stream.rest(if at == seam { 220 } else { 0 });
            stream.whole(chunk);
        }
        let heard = listen(VERSES, &stream);
        assert_eq!(heard.said(), [("Verse to Close", "needs work")], "{heard:#?}");
        let told = heard.attempts[0].finding("hesitation").expect("a stop");
        assert_eq!(told.place, Some((seam as u64 + 1, "1".to_owned())));
    }
}

/// Eight equal chunks in a row are joined as eight different ones are.
#[test]
fn equal_chunks_are_joined_as_different_ones_are() {
    for equal in [false, true] {
        let text = waves(8, equal);
        let chunks = chunks(&text);
        for seed in 0..4 {
            let mut stream = Stream::new(seed);
            chunks.iter().for_each(|chunk| stream.whole(chunk));
            let heard = listen(&text, &stream);
            assert_eq!(
                heard.said(),
                [("Wave 1 to Wave 8", "passed")],
                "equal: {equal}; {heard:#?}"
            );
        }
    }
}
