//! Standard MIDI Files of both sides of an attempt, written with midly.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

use crate::attempt::{Attempt, TICKS_PER_QUARTER};

/// Resolution of recordings: with 500,000 µs a quarter one tick is 20 µs.
const RECORDING_TICKS_PER_QUARTER: u16 = 25_000;
const MICROS_PER_RECORDING_TICK: u32 = 20;

/// A note on or off at an absolute tick.
struct Edge {
    tick: u32,
    channel: u8,
    pitch: u8,
    /// 0 for the end of a note.
    velocity: u8,
}

/// The written side as a Standard MIDI File, with its tempo and time signature.
pub fn score(attempt: &Attempt) -> Vec<u8> {
    let notes = attempt.expected.iter().map(|note| {
        // The velocity of a score means nothing; 80 is a usual middle value.
        (note.onset, note.onset + note.length, note.channel, note.pitch, 80)
    });
    file(
        TICKS_PER_QUARTER as u16,
        attempt.micros_per_quarter,
        attempt.quarters_per_bar,
        &edges(notes),
    )
}

/// The played side as a Standard MIDI File in real time.
pub fn recording(attempt: &Attempt) -> Vec<u8> {
    let ticks = |micros: u32| micros / MICROS_PER_RECORDING_TICK;
    let notes = attempt.played.iter().map(|note| {
        let end = ticks(note.onset.saturating_add(note.length));
        (ticks(note.onset), end, note.channel, note.pitch, note.velocity)
    });
    file(RECORDING_TICKS_PER_QUARTER, 500_000, 4, &edges(notes))
}

/// Ends before beginnings at the same tick; beginnings in the order given.
fn edges(notes: impl Iterator<Item = (u32, u32, u8, u8, u8)>) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (begin, end, channel, pitch, velocity) in notes {
        edges.push(Edge { tick: begin, channel, pitch, velocity });
        edges.push(Edge { tick: end.max(begin + 1), channel, pitch, velocity: 0 });
    }
    edges.sort_by_key(|edge| (edge.tick, edge.velocity > 0));
    edges
}

fn file(division: u16, micros_per_quarter: u32, quarters_per_bar: u8, edges: &[Edge]) -> Vec<u8> {
    let meta = |message| TrackEvent { delta: u28::new(0), kind: TrackEventKind::Meta(message) };
    let mut track = vec![
        meta(MetaMessage::Tempo(u24::new(micros_per_quarter))),
        meta(MetaMessage::TimeSignature(quarters_per_bar, 2, 24, 8)),
    ];
    let mut now = 0;
    for edge in edges {
        let (key, vel) = (u7::new(edge.pitch), u7::new(edge.velocity));
        let message = if edge.velocity == 0 {
            MidiMessage::NoteOff { key, vel: u7::new(64) }
        } else {
            MidiMessage::NoteOn { key, vel }
        };
        track.push(TrackEvent {
            delta: u28::new(edge.tick - now),
            kind: TrackEventKind::Midi { channel: u4::new(edge.channel), message },
        });
        now = edge.tick;
    }
    track.push(meta(MetaMessage::EndOfTrack));
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(division)));
    let mut bytes = Vec::new();
    Smf { header, tracks: vec![track] }
        .write_std(&mut bytes)
        .expect("writing to memory does not fail");
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::attempt::{PlayedNote, Role};

    #[test]
    fn a_recording_keeps_times_and_order() {
        let note = |onset, pitch| PlayedNote {
            onset,
            length: 50_000,
            pitch,
            channel: 3,
            velocity: 70,
            role: Role::Extra,
        };
        let attempt =
            Attempt::new(&[], &[note(40_000, 60), note(40_000, 40), note(90_000, 60)], 500_000, 4);
        let bytes = recording(&attempt);
        let smf = Smf::parse(&bytes).unwrap();
        let mut tick = 0;
        let mut seen = Vec::new();
        for event in &smf.tracks[0] {
            tick += event.delta.as_int();
            if let TrackEventKind::Midi { channel, message } = event.kind {
                let on = matches!(message, MidiMessage::NoteOn { .. });
                let (MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. }) = message
                else {
                    panic!("only notes were written");
                };
                seen.push((tick * MICROS_PER_RECORDING_TICK, channel.as_int(), key.as_int(), on));
            }
        }
        assert_eq!(
            seen,
            [
                (40_000, 3, 60, true),
                (40_000, 3, 40, true),
                (90_000, 3, 60, false),
                (90_000, 3, 40, false),
                (90_000, 3, 60, true),
                (140_000, 3, 60, false),
            ]
        );
    }
}
