//! What stands in a Standard MIDI File, track by track, its times in ticks of the study.

use crate::smf::check_tempo;
use evenhand_core::study::Metre;
use evenhand_core::units::Ticks;
use midly::{MetaMessage, MidiMessage, Smf, TrackEventKind};
use std::borrow::Cow;
use std::collections::{HashMap, VecDeque};

/// The channel of percussion, from 0: its keys are no pitches (General MIDI 1; from memory).
const PERCUSSION: u8 = 9;

/// The controller of the sustain pedal (MIDI 1.0, controller 64).
const SUSTAIN: u8 = 64;

/// The longest name that is kept, in letters. Our default.
const LONGEST_NAME: usize = 120;

/// A file.
#[derive(Default)]
pub(super) struct Raw {
    pub(super) tracks: Vec<Track>,
    /// When, and microseconds a quarter; in order.
    pub(super) tempos: Vec<(u64, u32)>,
    /// When, and which; in order.
    pub(super) metres: Vec<(u64, (u8, u8))>,
    /// What is not taken, and when.
    pub(super) told: Vec<(Cow<'static, str>, u64)>,
    /// When the last note is over.
    pub(super) end: u64,
}

/// A track.
#[derive(Default)]
pub(super) struct Track {
    pub(super) name: String,
    pub(super) notes: Vec<RawNote>,
    /// What is not taken, and when.
    pub(super) told: Vec<(Cow<'static, str>, u64)>,
}

/// A note.
#[derive(Clone, Copy)]
pub(super) struct RawNote {
    pub(super) channel: u8,
    pub(super) pitch: u8,
    pub(super) from: u64,
    /// None where the file does not end it.
    pub(super) to: Option<u64>,
}

/// Reads a file whose quarter has so many ticks. On channels that are strings none is percussion.
pub(super) fn raw(smf: &Smf<'_>, per_quarter: u64, channels_are_strings: bool) -> Raw {
    let mut raw = Raw::default();
    let ticks = |tick: u64| {
        // A file has at most 2^23 events of at most 2^28 ticks each, so nothing overflows.
        (tick * u64::from(Ticks::PER_QUARTER) + per_quarter / 2) / per_quarter
    };
    for events in &smf.tracks {
        let mut track = Track::default();
        // The notes that sound, by channel and pitch; of equal ones the first ends first.
        let mut sounding: HashMap<(u8, u8), VecDeque<usize>> = HashMap::new();
        let mut tick = 0;
        for event in events {
            tick += u64::from(event.delta.as_int());
            let at = ticks(tick);
            match event.kind {
                TrackEventKind::Meta(message) => meta(&mut raw, &mut track, at, &message),
                TrackEventKind::Midi { channel, message } => {
                    let channel = channel.as_int();
                    let (pitch, begins) = match message {
                        MidiMessage::NoteOn { key, vel } => (key.as_int(), vel.as_int() > 0),
                        MidiMessage::NoteOff { key, .. } => (key.as_int(), false),
                        other => {
                            track.told.extend(unheard(&other).map(|what| (what.into(), at)));
                            continue;
                        }
                    };
                    if channel == PERCUSSION && !channels_are_strings {
                        if begins {
                            track.told.push(("percussion on channel 10 (not judged)".into(), at));
                        }
                        continue;
                    }
                    let same = sounding.entry((channel, pitch)).or_default();
                    if begins {
                        same.push_back(track.notes.len());
                        track.notes.push(RawNote { channel, pitch, from: at, to: None });
                        raw.end = raw.end.max(at);
                    } else if let Some(note) =
                        same.pop_front().and_then(|at| track.notes.get_mut(at))
                    {
                        note.to = Some(at);
                        raw.end = raw.end.max(at);
                    }
                }
                _ => {}
            }
        }
        raw.tracks.push(track);
    }
    raw.tempos.sort_by_key(|(at, _)| *at);
    raw.metres.sort_by_key(|(at, _)| *at);
    raw
}

fn meta(raw: &mut Raw, track: &mut Track, at: u64, message: &MetaMessage<'_>) {
    match message {
        MetaMessage::TrackName(name) if track.name.is_empty() => track.name = one_line(name),
        MetaMessage::Tempo(micros) => {
            // The first is looked at where it decides whether the file is music at all.
            if raw.tempos.is_empty() || check_tempo(micros.as_int()) {
                raw.tempos.push((at, micros.as_int()));
            } else {
                raw.told
                    .push(("a tempo that cannot be practised (that before it goes on)".into(), at));
            }
        }
        MetaMessage::TimeSignature(upper, lower, ..) => {
            let lower = 1_u8.checked_shl((*lower).into()).unwrap_or(0);
            match Metre::new(*upper, lower) {
                Some(_) => raw.metres.push((at, (*upper, lower))),
                None => raw
                    .told
                    .push(("a metre that a study cannot have (that before it goes on)".into(), at)),
            }
        }
        MetaMessage::Lyric(_) => track.told.push(("words to be sung".into(), at)),
        MetaMessage::Marker(_) | MetaMessage::CuePoint(_) => {
            raw.told.push(("marks with words".into(), at));
        }
        _ => {}
    }
}

/// What somebody would hear, and a study does not say.
fn unheard(message: &MidiMessage) -> Option<&'static str> {
    match message {
        MidiMessage::PitchBend { bend } if bend.as_int() != 0 => Some("bends (not judged)"),
        MidiMessage::Controller { controller, value } => (controller.as_int() == SUSTAIN
            && value.as_int() >= 64)
            .then_some("the sustain pedal (notes last as long as their keys)"),
        _ => None,
    }
}

/// A name as one line.
fn one_line(name: &[u8]) -> String {
    let text = String::from_utf8_lossy(name);
    let letters = text.chars().map(|letter| if letter.is_control() { ' ' } else { letter });
    let words: String = letters.take(LONGEST_NAME).collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}
