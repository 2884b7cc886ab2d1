//! A study as a Standard MIDI File of format 1: a track of tempi and metres, and one for each voice. A string has the
//! channel of its number, as pickups send it (MIDI 1.0, mode 4); notes on no string have channel 9.

use super::Whole;
use crate::study::{MetreText, PieceBar};
use evenhand_core::study::Marks;
use evenhand_core::units::Ticks;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};

/// The channel of notes on no string: the first that is no string's, counted from 0.
const NO_STRING: u8 = 8;

/// How hard notes are struck: an ordinary note and one with an accent. Our defaults.
const VELOCITY: u8 = 80;
const ACCENT: u8 = 100;

/// A study as a Standard MIDI File. A quarter has as many ticks as the judge counts, so that nothing is rounded.
pub fn midi(whole: &Whole) -> Vec<u8> {
    let piece = &whole.piece;
    let title = whole.study.title.clone().unwrap_or_default();
    let mut head: Vec<(u32, TrackEventKind<'_>)> =
        vec![(0, TrackEventKind::Meta(MetaMessage::TrackName(title.as_bytes())))];
    let mut before = None;
    for bar in &piece.bars {
        let (metre, tempo) = (metre_of(bar), bar.tempo);
        if before.is_none_or(|(last, _)| last != metre) {
            let lower = metre.lower.trailing_zeros() as u8;
            let signature = MetaMessage::TimeSignature(metre.upper, lower, 24, 8);
            head.push((bar.at.get(), TrackEventKind::Meta(signature)));
        }
        if before.is_none_or(|(_, last)| last != tempo) {
            let micros = u24::new(tempo.micros_per_quarter());
            head.push((bar.at.get(), TrackEventKind::Meta(MetaMessage::Tempo(micros))));
        }
        before = Some((metre, tempo));
    }
    let mut tracks = vec![track(head)];
    for (number, name) in (0..).zip(&piece.voices) {
        let mut events: Vec<(u32, TrackEventKind<'_>)> =
            vec![(0, TrackEventKind::Meta(MetaMessage::TrackName(name.as_bytes())))];
        for note in piece.notes.iter().filter(|note| note.voice == number) {
            let channel = u4::new(note.string.map_or(NO_STRING, |string| string.number() - 1));
            let key = u7::new(note.pitch.number());
            let vel = u7::new(if note.marks.has(Marks::ACCENT) { ACCENT } else { VELOCITY });
            let (on, off) = (note.onset.get(), note.onset.plus(note.duration).get());
            let message = MidiMessage::NoteOn { key, vel };
            events.push((on, TrackEventKind::Midi { channel, message }));
            let message = MidiMessage::NoteOff { key, vel: u7::new(64) };
            events.push((off, TrackEventKind::Midi { channel, message }));
        }
        tracks.push(track(events));
    }
    let per_quarter = u15::new(Ticks::PER_QUARTER as u16);
    let header = Header::new(Format::Parallel, Timing::Metrical(per_quarter));
    let mut bytes = Vec::new();
    // Writing to memory does not fail.
    let _ = Smf { header, tracks }.write(&mut bytes);
    bytes
}

/// The metre of a bar; of a pickup one that is as short, since in this form only the metre says where bars end.
fn metre_of(bar: &PieceBar) -> MetreText {
    let lengths = (0..=5).map(|power| 1_u8 << power).filter(|lower| *lower >= bar.metre.lower);
    let short = lengths.filter_map(|lower| {
        let unit = 4 * Ticks::PER_QUARTER / u32::from(lower);
        let upper = u8::try_from(bar.length.get() / unit).ok()?;
        (upper > 0 && bar.length.get().is_multiple_of(unit)).then_some(MetreText { upper, lower })
    });
    short.into_iter().next().unwrap_or(bar.metre)
}

/// Events by their times as a track. What ends comes before what begins at the same time.
fn track(mut events: Vec<(u32, TrackEventKind<'_>)>) -> Track<'_> {
    let rank = |kind: &TrackEventKind<'_>| match kind {
        TrackEventKind::Meta(_) => 0,
        TrackEventKind::Midi { message: MidiMessage::NoteOff { .. }, .. } => 1,
        _ => 2,
    };
    events.sort_by_key(|(at, kind)| (*at, rank(kind)));
    let mut last = 0;
    let mut track: Track<'_> = Vec::with_capacity(events.len() + 1);
    for (at, kind) in events {
        let delta = u28::new((at - last).min(u28::max_value().as_int()));
        track.push(TrackEvent { delta, kind });
        last = at;
    }
    let end = TrackEventKind::Meta(MetaMessage::EndOfTrack);
    track.push(TrackEvent { delta: u28::new(0), kind: end });
    track
}
