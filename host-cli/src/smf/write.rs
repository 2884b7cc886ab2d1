//! Recordings to Standard MIDI Files.

use super::Timed;
use midly::live::LiveEvent;
use midly::num::{u15, u24, u28};
use midly::{Format, Header, MetaMessage, Smf, Timing, Track, TrackEvent, TrackEventKind};

/// Ticks of a quarter, and its length: a tick is 50 µs, finer than a byte takes on a MIDI
/// cable (320 µs; IEC 63035).
const PER_QUARTER: u16 = 10_000;
const QUARTER_MICROS: u32 = 500_000;
const TICK_MICROS: u64 = QUARTER_MICROS as u64 / PER_QUARTER as u64;

/// Makes a file of format 0 of the messages, which are in order of time. `text` is written
/// at its beginning, as what the file is.
pub fn file(messages: &[Timed], text: &str) -> Vec<u8> {
    let mut track: Track<'_> = Vec::new();
    let meta = |message| TrackEvent { delta: u28::new(0), kind: TrackEventKind::Meta(message) };
    track.push(meta(MetaMessage::Text(text.as_bytes())));
    track.push(meta(MetaMessage::Tempo(u24::new(QUARTER_MICROS))));
    let mut last = 0;
    for message in messages {
        let tick = (message.at.as_micros() + TICK_MICROS / 2) / TICK_MICROS;
        let Ok(LiveEvent::Midi { channel, message }) = LiveEvent::parse(&message.bytes) else {
            continue;
        };
        let delta = tick.saturating_sub(last).min(u28::max_value().as_int().into());
        last = tick.max(last);
        let kind = TrackEventKind::Midi { channel, message };
        track.push(TrackEvent { delta: u28::new(delta as u32), kind });
    }
    track.push(meta(MetaMessage::EndOfTrack));
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(PER_QUARTER)));
    let mut bytes = Vec::new();
    // Writing to memory does not fail.
    let _ = Smf { header, tracks: vec![track] }.write(&mut bytes);
    bytes
}
