//! A recording: what came from a pickup, and when.

use super::clock::Clock;
use super::{in_order, open, parse};
use crate::fault::Fault;
use evenhand_core::units::Instant;
use midly::live::LiveEvent;
use midly::{MetaMessage, MidiMessage, Smf, TrackEventKind};
use std::path::Path;

/// A message and when it came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timed {
    /// When.
    pub at: Instant,
    /// The message as bytes, as a cable would carry it.
    pub bytes: Vec<u8>,
    /// The channel, from 0, if the message begins a note, and its pitch.
    pub begins: Option<(u8, u8)>,
}

/// A recording.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Recording {
    /// The channel messages, in order.
    pub messages: Vec<Timed>,
    /// What the file says it is, in its first text.
    pub text: Option<String>,
    /// When the last event of the file stands, the end of its track included.
    pub end: Instant,
}

impl Recording {
    /// Reads a recording from a Standard MIDI File of format 0 or 1.
    pub fn read(path: &Path) -> Result<Self, Fault> {
        open(path, "recording", |smf| Ok(Self::of(smf)))
    }

    /// The same from memory; `name` is used in errors.
    pub fn from_bytes(content: &[u8], name: &str) -> Result<Self, Fault> {
        parse(content, name, |smf| Ok(Self::of(smf)))
    }

    fn of(smf: &Smf<'_>) -> Self {
        let mut clock = Clock::new(smf.header.timing);
        let mut recording = Self::default();
        for event in in_order(smf) {
            let at = Instant::from_micros(clock.at(event.tick, &event.kind));
            recording.end = at;
            if let TrackEventKind::Meta(MetaMessage::Text(text)) = event.kind {
                recording.text.get_or_insert_with(|| String::from_utf8_lossy(text).into_owned());
            }
            // A System Reset ends all notes; a file can hold it only escaped.
            if event.kind == TrackEventKind::Escape(&[0xff]) {
                recording.messages.push(Timed { at, bytes: vec![0xff], begins: None });
            }
            let TrackEventKind::Midi { channel, message } = event.kind else {
                continue;
            };
            let mut bytes = Vec::with_capacity(3);
            // Writing to memory does not fail.
            let _ = LiveEvent::Midi { channel, message }.write(&mut bytes);
            let begins = match message {
                MidiMessage::NoteOn { key, vel } if vel.as_int() > 0 => {
                    Some((channel.as_int(), key.as_int()))
                }
                _ => None,
            };
            recording.messages.push(Timed { at, bytes, begins });
        }
        recording
    }

    /// Channel and pitch of every note, in order of arrival.
    pub fn notes(&self) -> impl Iterator<Item = (u8, u8)> + '_ {
        self.messages.iter().filter_map(|message| message.begins)
    }
}
