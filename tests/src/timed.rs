//! Streams of lines with times, as `listen --timed` takes them: somebody plays events of a study's
//! chunks, whole or in part, with slips where a test wants them.
//!
//! The hand is a steady one: its notes scatter by a few milliseconds and units of velocity, far
//! within every limit, so that whatever is told is what the test put in.

use crate::seeded::Seeded;
use evenhand::study::Prepared;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::Ticks;
use std::fmt::Write as _;
use std::ops::Range;

/// Standard deviation of when a note begins, in microseconds. Our default: a skilled hand's scatter
/// is 8 to 9 ms (Jabusch 2006), and one that is never told of is wanted here.
const SCATTER: f64 = 4_000.0;

/// What goes amiss at an event of what is played; events are counted in the chunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// Its notes come so many semitones too high.
    Wrong(usize, i8),
    /// It is left out.
    LeftOut(usize),
    /// A note of this pitch comes half-way to the next event.
    Extra(usize, u8),
}

/// What has been played so far.
#[derive(Clone, Debug)]
pub struct Stream {
    /// When the next event is due, in microseconds.
    now: u64,
    seeded: Seeded,
    /// Which voice is played; none for all.
    voice: Option<u8>,
    messages: Vec<(u64, [u8; 3])>,
}

/// The events of a chunk: when each is due, and its notes. The landing is none of them.
fn events(chunk: &Prepared, voice: Option<u8>) -> Vec<(Ticks, Vec<&ExpectedNote>)> {
    let own = |note: &&ExpectedNote| {
        !note.marks.has(Marks::LANDING) && voice.is_none_or(|voice| voice == note.voice)
    };
    let mut events: Vec<(Ticks, Vec<&ExpectedNote>)> = Vec::new();
    for note in chunk.notes.iter().filter(own) {
        match events.last_mut() {
            Some((onset, notes)) if *onset == note.onset => notes.push(note),
            _ => events.push((note.onset, vec![note])),
        }
    }
    events
}

impl Stream {
    /// Nothing yet; the first note comes after a second.
    pub fn new(seed: u64) -> Self {
        Self { now: 1_000_000, seeded: Seeded::new(seed), voice: None, messages: Vec::new() }
    }

    /// From here on only this voice is played, by its number from 0.
    pub const fn only(&mut self, voice: u8) {
        self.voice = Some(voice);
    }

    /// The time.
    pub const fn now(&self) -> u64 {
        self.now
    }

    /// Nothing is played for so long, beyond what is written.
    pub const fn rest(&mut self, millis: u64) {
        self.now += millis * 1_000;
    }

    /// A whole chunk, without its landing.
    pub fn whole(&mut self, chunk: &Prepared) {
        self.part(chunk, 0..usize::MAX, &[]);
    }

    /// Some events of a chunk, at its own tempo. What is played next is due when the event after
    /// them is written.
    ///
    /// # Panics
    /// If there is no such event.
    pub fn part(&mut self, chunk: &Prepared, part: Range<usize>, slips: &[Slip]) {
        let events = events(chunk, self.voice);
        let end = part.end.min(events.len());
        let last = events.get(end).map_or(chunk.length, |(onset, _)| *onset);
        // A voice may come in later than its chunk.
        let from = if part.start == 0 { Ticks::ZERO } else { events[part.start].0 };
        let micros =
            |ticks: Ticks| u64::from(chunk.tempo.lasting(ticks).as_micros().unsigned_abs());
        let begin = self.now;
        for (event, (onset, notes)) in events.iter().enumerate().take(end).skip(part.start) {
            let next = events.get(event + 1).map_or(chunk.length, |(onset, _)| *onset);
            let at = begin + micros(*onset) - micros(from);
            let interval = micros(next) - micros(*onset);
            let semitones = slips.iter().find_map(|slip| match slip {
                Slip::Wrong(place, semitones) if *place == event => Some(*semitones),
                _ => None,
            });
            if !slips.contains(&Slip::LeftOut(event)) {
                for note in notes {
                    let pitch = note.pitch.number().saturating_add_signed(semitones.unwrap_or(0));
                    self.note(at, interval * 9 / 10, pitch);
                }
            }
            for slip in slips {
                if let Slip::Extra(place, pitch) = *slip
                    && place == event
                {
                    self.note(at + interval / 2, interval / 3, pitch);
                }
            }
        }
        self.now = begin + micros(last) - micros(from);
    }

    fn note(&mut self, at: u64, lasts: u64, pitch: u8) {
        let scatter = (self.seeded.normal() * SCATTER) as i64;
        let at = at.saturating_add_signed(scatter);
        let velocity = self.seeded.between(78, 84) as u8;
        self.messages.push((at, [0x90, pitch, velocity]));
        self.messages.push((at + lasts, [0x80, pitch, 64]));
    }

    /// The lines.
    pub fn lines(&self) -> String {
        let mut messages = self.messages.clone();
        // A note that begins when another ends comes after it, as from a pickup.
        messages.sort_unstable();
        let mut lines = String::new();
        for (at, [status, pitch, velocity]) in messages {
            let _ = writeln!(lines, "{at} {status:02x} {pitch:02x} {velocity:02x}");
        }
        lines
    }
}
