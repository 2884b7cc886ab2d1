//! A session as a stream: its takes one after the other, as bytes with times.

use super::session::{Sent, Session};
use crate::paths::{Message, begins};

/// Before the first note, in microseconds.
const LEAD_IN: u64 = 700_000;

/// From the end of a take to the first note of the next. Our default: more than the two seconds of
/// silence that end an attempt in what pianists were seen to practise, and short enough that nobody
/// has done anything else between.
const PAUSE: u64 = 2_500_000;

/// The silence after the last take, in which the stream stays open.
const SILENCE: u64 = 12_000_000;

/// Through what a session is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A converter without errors.
    Ideal,
    /// The rig's.
    Converter,
}

/// What comes in.
#[derive(Clone, Debug)]
pub struct Stream<'a> {
    /// The messages, in order of time.
    pub messages: Vec<Message>,
    /// Until when the stream stays open.
    pub until: u64,
    /// For each note-on of the stream, its take and the note.
    pub notes: Vec<(usize, &'a Sent)>,
}

/// What the source sends of the session.
pub fn stream(session: &Session, source: Source) -> Stream<'_> {
    let mut stream = Stream { messages: Vec::new(), until: 0, notes: Vec::new() };
    let mut begin = LEAD_IN;
    for (number, take) in session.takes.iter().enumerate() {
        let mut notes: Vec<&Sent> = match source {
            Source::Ideal => take.ideal.iter().collect(),
            Source::Converter => take.played.iter().collect(),
        };
        notes.sort_by_key(|note| note.at);
        let Some(first) = notes.first().map(|note| note.at) else { continue };
        let mut messages = Vec::new();
        for (index, note) in notes.iter().enumerate() {
            let again = |next: &&&Sent| (next.channel, next.pitch) == (note.channel, note.pitch);
            // Of two that sound at once on a channel and a key the first ends when the second begins:
            // its own note-off would be taken for the second's.
            let next = notes[index + 1..].iter().find(again).map_or(u64::MAX, |next| next.at);
            let at = begin + note.at - first;
            let end = begin + (note.at + note.lasts).min(next) - first;
            messages.push((at, [0x90 | note.channel, note.pitch, note.velocity]));
            messages.push((end.max(at), [0x80 | note.channel, note.pitch, 64]));
        }
        // What ends comes before what begins at the same time. Sorting keeps the order of notes.
        messages.sort_by_key(|(at, bytes)| (*at, begins(bytes)));
        begin = messages.last().map_or(begin, |message| message.0) + PAUSE;
        stream.messages.extend(messages);
        stream.notes.extend(notes.into_iter().map(|note| (number, note)));
    }
    stream.until = stream.messages.last().map_or(0, |message| message.0) + SILENCE;
    stream
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::converter::session::{Quality, Take};
    use crate::converter::slip::Slip;
    use crate::search::studies::studies;

    fn session(notes: &[(u64, u64, u8)], takes: usize) -> Session {
        // Any chunk will do: nothing of it is sent.
        let chunk = studies()[0].chunks[0].clone();
        let sent = |&(at, lasts, pitch): &(u64, u64, u8)| Sent {
            at,
            lasts,
            pitch,
            velocity: 80,
            channel: 1,
            truth: "match".to_owned(),
        };
        let played: Vec<Sent> = notes.iter().map(sent).collect();
        let take = Take { ideal: played.clone(), played, lost: 0 };
        Session {
            id: "any".to_owned(),
            exercise: "any".to_owned(),
            slip: Slip::Clean,
            places: Vec::new(),
            quality: Quality::Good,
            one_channel: false,
            chunk,
            takes: vec![take; takes],
        }
    }

    #[test]
    fn a_note_that_is_struck_again_has_ended_before() {
        let session = session(&[(0, 900, 60), (500, 900, 60), (600, 100, 62)], 1);
        let stream = stream(&session, Source::Converter);
        let times: Vec<(u64, u8, u8)> =
            stream.messages.iter().map(|(at, bytes)| (at - LEAD_IN, bytes[0], bytes[1])).collect();
        let wanted = [
            (0, 0x91, 60),
            (500, 0x81, 60),
            (500, 0x91, 60),
            (600, 0x91, 62),
            (700, 0x81, 62),
            (1_400, 0x81, 60),
        ];
        assert_eq!(times, wanted);
    }

    #[test]
    fn takes_come_one_after_the_other_with_a_pause() {
        let session = session(&[(3_000, 500, 60)], 3);
        let stream = stream(&session, Source::Ideal);
        let begins: Vec<u64> =
            stream.messages.iter().filter(|(_, bytes)| begins(bytes)).map(|(at, _)| *at).collect();
        let every = 500 + PAUSE;
        assert_eq!(begins, [LEAD_IN, LEAD_IN + every, LEAD_IN + 2 * every]);
        let takes: Vec<usize> = stream.notes.iter().map(|(take, _)| *take).collect();
        assert_eq!(takes, [0, 1, 2]);
    }
}
