//! A case as a stream: what a pickup sends while the chunk is played once, twice or three times.

use evenhand_core::player::{Performance, perform};
use evenhand_core::study::Marks;
use evenhand_core::units::Tempo;
use std::fmt::Write as _;
use std::ops::Range;

use super::case::Case;
use super::lay::Laid;
use super::studies::Study;
use crate::lab::live::pause;
use crate::paths::{Lateness, Message, note_ons, send};
use crate::seeded::Seeded;

/// What comes in.
#[derive(Clone, Debug, Default)]
pub struct Stream {
    /// The messages, in order of time.
    pub messages: Vec<Message>,
    /// Until when the stream stays open after them; none if it ends with the last.
    pub until: Option<u64>,
    /// The numbers, among all note-ons, of the attempt that is looked at.
    pub attempt: Range<u32>,
    /// How many of those notes come before its landing.
    pub proper: u32,
}

/// How many attempts a stream has, and which is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Attempts {
    /// One alone.
    One,
    /// One to three, one of which has the lapse.
    Few,
    /// Three alike, the last of which is looked at.
    Three,
}

/// Before the first note.
const LEAD_IN: u64 = 700_000;

/// The silence at the end of a stream that goes on.
const SILENCE: u64 = 12_000_000;

impl Stream {
    /// The stream of a case.
    pub fn of(case: &Case, studies: &[Study], lateness: Lateness, attempts: Attempts) -> Self {
        let mut seeded = Seeded::new(case.seed ^ 0x57ae_a300);
        let count = match attempts {
            Attempts::One => 1,
            Attempts::Few => seeded.between(1, 3),
            Attempts::Three => 3,
        };
        let looked_at = match attempts {
            Attempts::Three => count - 1,
            Attempts::One | Attempts::Few => seeded.between(0, count - 1),
        };
        let mut stream = Self::default();
        let mut start = LEAD_IN;
        for number in 0..count {
            let seed = case.seed.wrapping_add((number as u64) << 40);
            let laid = if number == looked_at { case.faulty(studies) } else { case.clean() };
            // Nobody plays twice at quite the same tempo.
            let change = seeded.between(-10, 10);
            let tempo = if number == looked_at { case.tempo } else { changed(case.tempo, change) };
            let performance = played(case, studies, tempo, &laid, seed);
            let first = note_ons(&stream.messages);
            let mut end = send(&performance, lateness, start, seed, &mut stream.messages);
            if number == looked_at {
                stream.attempt = first..note_ons(&stream.messages);
                stream.proper = proper(case, studies, &performance);
                if let Some((next, lost)) = case.goes_on(studies) {
                    let length = tempo.lasting(case.prepared(studies).length);
                    let begins = start
                        .saturating_add_signed(length.as_micros().into())
                        .saturating_add_signed(lost.as_micros().into());
                    let chunk = next.at_tempo(tempo);
                    let performance = perform(&chunk, tempo, laid.skill, &[], !seed);
                    end = send(&performance, lateness, begins, !seed, &mut stream.messages);
                }
            }
            start = end + pause(&mut seeded);
        }
        let last = stream.messages.last().map_or(0, |message| message.0);
        stream.until = seeded.chance(0.5).then_some(last + SILENCE);
        stream
    }

    /// As lines of times and bytes, which `--timed` reads.
    pub fn lines(&self) -> String {
        let mut lines = String::new();
        for (at, [status, one, two]) in &self.messages {
            let _ = writeln!(lines, "{at} {status:02x} {one:02x} {two:02x}");
        }
        if let Some(until) = self.until {
            let _ = writeln!(lines, "{until}");
        }
        lines
    }
}

fn played(case: &Case, studies: &[Study], tempo: Tempo, laid: &Laid, seed: u64) -> Performance {
    let chunk = case.prepared(studies).at_tempo(tempo);
    perform(&chunk, tempo, laid.skill, &laid.faults, seed)
}

fn changed(tempo: Tempo, per_mille: i64) -> Tempo {
    let micros = i64::from(tempo.micros_per_quarter());
    Tempo::from_micros_per_quarter((micros + micros * per_mille / 1_000) as u32).unwrap_or(tempo)
}

fn proper(case: &Case, studies: &[Study], performance: &Performance) -> u32 {
    let notes = &case.prepared(studies).notes;
    let lands = |note: u16| notes[usize::from(note)].marks.has(Marks::LANDING);
    performance.notes().iter().filter(|note| !note.meant.is_some_and(lands)).count() as u32
}
