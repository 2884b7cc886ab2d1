//! Bytes that may be a Standard MIDI File.

use evenhand::channels::ChannelChoice;
use evenhand::listening::Listener;
use evenhand::report::{self, Ink};
use evenhand::smf::{Recording, Score, write};
use evenhand_core::pickup::Pickup;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::tolerance::Tolerances;

/// Messages that are played to the judge, at most, so that a long input is not a slow one.
const MESSAGES: usize = 2_000;

/// Reads `input` as a recording and as a score, judges the one by the other, and writes the
/// recording to a file and reads it back.
///
/// # Panics
/// If the recording does not come back as it was, or if something that was read cannot be used.
pub fn smf(input: &[u8]) {
    for choice in [ChannelChoice::Auto, ChannelChoice::String, ChannelChoice::One] {
        let score = Score::from_bytes(input, "fuzzed", choice, Tolerances::default());
        let recording = Recording::from_bytes(input, "fuzzed");
        match (score, recording) {
            (Ok(score), Ok(recording)) => judge(&score, &recording),
            (Err(fault), Ok(recording)) => {
                assert!(!fault.to_string().is_empty());
                written(&recording);
            }
            (Ok(_), Err(fault)) => panic!("a score is a recording, too, but: {fault}"),
            (Err(fault), Err(_)) => return assert!(!fault.to_string().is_empty()),
        }
    }
}

fn judge(score: &Score, recording: &Recording) {
    assert!(!report::chunk(&score.prepared).is_empty());
    for ends in [Ends::ByItself, Ends::ByCaller] {
        let pickup = Pickup::UNKNOWN.on(score.channels);
        let config = SessionConfig { pickup, click: None, ends };
        let chunks = [score.prepared.clone()];
        let mut listener = Listener::new(&chunks, config);
        let mut attempts = Vec::new();
        for message in recording.messages.iter().take(MESSAGES) {
            attempts.extend(listener.poll(message.at));
            listener.feed(&message.bytes, message.at, message.begins.is_some());
        }
        // Where the caller ends attempts, an empty one is one, too: there is no last.
        let most = if ends == Ends::ByCaller { 1 } else { 2_000 };
        attempts.extend((0..most).map_while(|_| listener.finish()));
        assert!(attempts.len() <= MESSAGES, "there is no end of attempts");
        let mut out = Vec::new();
        for finished in attempts.iter().take(3) {
            report::attempt(&mut out, finished, Ink::Plain).expect("memory takes all");
        }
        assert!(ends == Ends::ByItself || attempts.len() == 1, "all of it is one attempt");
    }
}

/// What a recording keeps when it is written: order, bytes, and times to a tick.
fn written(recording: &Recording) {
    let file = write::file(&recording.messages, "fuzzed");
    let again = Recording::from_bytes(&file, "written").expect("our own files are whole");
    assert_eq!(recording.messages.len(), again.messages.len());
    for (one, other) in recording.messages.iter().zip(&again.messages) {
        assert_eq!((&one.bytes, one.begins), (&other.bytes, other.begins));
    }
}
