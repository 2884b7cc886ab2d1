//! Files made for these tests.

use evenhand::smf::{Timed, write};
use evenhand_core::units::Instant;
use midly::num::{u4, u7, u15, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};

/// Ticks of a quarter in made scores.
const QUARTER: u32 = 480;

/// A recording of these (time in milliseconds, channel, pitch), each note 200 ms long.
pub(crate) fn recording(notes: &[(u64, u8, u8)]) -> Vec<u8> {
    let mut messages = Vec::new();
    for &(millis, channel, pitch) in notes {
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        // A natural variation in loudness; the same for all would be something to find.
        let velocity = 78 + (millis / 100 % 7) as u8;
        let begins = Some((channel, pitch));
        messages.push(Timed {
            at: at(millis),
            bytes: vec![0x90 | channel, pitch, velocity],
            begins,
        });
        let bytes = vec![0x80 | channel, pitch, 64];
        messages.push(Timed { at: at(millis + 200), bytes, begins: None });
    }
    messages.sort_by_key(|message| (message.at, message.begins.is_some()));
    write::file(&messages, "made for a test")
}

/// A score of these (onset in quarters, pitch), each note a quarter long, on one channel.
pub(crate) fn score(format: Format, timing: Timing, notes: &[(u32, u8)]) -> Vec<u8> {
    let mut edges = Vec::new();
    for &(quarter, pitch) in notes {
        edges.push((quarter * QUARTER, true, pitch));
        edges.push(((quarter + 1) * QUARTER, false, pitch));
    }
    edges.sort_by_key(|&(tick, begins, pitch)| (tick, begins, pitch));
    let mut now = 0;
    let mut track: Track<'_> = Vec::new();
    for (tick, begins, pitch) in edges {
        let (key, vel) = (u7::new(pitch), u7::new(80));
        let message = match begins {
            true => MidiMessage::NoteOn { key, vel },
            false => MidiMessage::NoteOff { key, vel },
        };
        let kind = TrackEventKind::Midi { channel: u4::new(0), message };
        track.push(TrackEvent { delta: u28::new(tick - now), kind });
        now = tick;
    }
    let end = TrackEventKind::Meta(MetaMessage::EndOfTrack);
    track.push(TrackEvent { delta: u28::new(0), kind: end });
    let mut bytes = Vec::new();
    Smf { header: Header::new(format, timing), tracks: vec![track] }
        .write_std(&mut bytes)
        .expect("writing to memory does not fail");
    bytes
}

/// The usual timing of a score.
pub(crate) fn quarters() -> Timing {
    Timing::Metrical(u15::new(QUARTER as u16))
}

/// A file of one track with this content, whatever it is.
pub(crate) fn file_of(track: &[u8]) -> Vec<u8> {
    let mut file = b"MThd\0\0\0\x06\0\0\0\x01\x01\xe0MTrk".to_vec();
    file.extend((track.len() as u32).to_be_bytes());
    file.extend(track);
    file
}

/// A study of one chunk, or several, of this many eighths each on alternating strings.
pub(crate) fn study(chunks: u32, notes: u32) -> String {
    let mut study = String::from("evenhand study 1\n");
    for chunk in 0..chunks {
        study += &format!("chunk \"Part {chunk}\" at bar {}\n  melody: 1/8", 1 + chunk * notes);
        for note in 0..notes {
            study += &format!(" {}:{}", 1 + note % 6, (note + chunk) % 12);
            // Eight eighths are a bar; a line of two hundred bars would be hard to read.
            if note % 8 == 7 && note + 1 < notes {
                study += " |\n  melody:";
            }
        }
        study += "\n";
    }
    study
}
