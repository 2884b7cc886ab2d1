//! One voice alone is told and judged as that voice.

use crate::practice_streams::heard::{Heard, listen};
use crate::practice_streams::studies::{ROWING, chunks};
use evenhand_tests::timed::{Slip, Stream};

/// The voice is played five times, a little apart, with these slips.
fn alone(voice: u8, slips: &[Slip]) -> Heard {
    let chunk = &chunks(ROWING)[0];
    let mut stream = Stream::new(u64::from(voice));
    stream.only(voice);
    for _ in 0..5 {
        stream.part(chunk, 0..usize::MAX, slips);
        stream.rest(700);
    }
    listen(ROWING, &stream)
}

const VOICES: [(u8, &str); 2] = [(0, "Rowing, melody alone"), (1, "Rowing, bass alone")];

#[test]
fn a_voice_alone_is_that_voice() {
    for (voice, name) in VOICES {
        let heard = alone(voice, &[]);
        assert_eq!(heard.said(), [(name, "passed"); 5], "{heard:#?}");
        assert_eq!(heard.false_starts, []);
    }
}

#[test]
fn a_voice_alone_is_judged() {
    for (voice, name) in VOICES {
        for slip in [Slip::Wrong(4, 1), Slip::LeftOut(4)] {
            let heard = alone(voice, &[slip]);
            assert_eq!(heard.said(), [(name, "needs work"); 5], "{slip:?}: {heard:#?}");
        }
    }
}

#[test]
fn both_voices_are_the_chunk() {
    let chunk = &chunks(ROWING)[0];
    let mut stream = Stream::new(3);
    for _ in 0..3 {
        stream.whole(chunk);
        stream.rest(700);
    }
    let heard = listen(ROWING, &stream);
    assert_eq!(heard.said(), [("Rowing", "passed"); 3], "{heard:#?}");
}
