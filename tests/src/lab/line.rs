//! Plain lines of known length, with a place for a kind of trouble.

use evenhand_core::study::{Attack, ExpectedNote, Marks, Metre};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};

use super::piece::Piece;

/// What a line carries beside its single notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum With {
    /// Nothing.
    Nothing,
    /// A chord of three on every fourth event.
    Chords,
    /// A held bass of four events under every four.
    Held,
    /// A staccato note in every four.
    Staccato,
    /// An accent in every four.
    Accents,
    /// A landing on a chord of three.
    Landing,
    /// A trill in the bass under all of it.
    Trill,
}

/// A line of `events` events, `a_quarter` of them a quarter note, at 72 quarters a minute: up
/// and down a scale, every fourth note slurred, a shift in the middle.
pub fn line(events: u32, a_quarter: u32, with: With) -> Piece {
    let length = Ticks::PER_QUARTER / a_quarter;
    let mut notes = Vec::new();
    for event in 0..events {
        let place = event % 4;
        let plain = note(event * length, length, 4, STEPS_FROM + step(event));
        let mut marks = if event == events / 2 { Marks::SHIFT } else { Marks::NONE };
        match (with, place) {
            (With::Staccato, 2) => marks = Marks::STACCATO,
            (With::Accents, 1) => marks = Marks::ACCENT,
            (With::Held, 0) => {
                let bass = if event % 8 == 0 { 40 } else { 43 };
                let held = note(event * length, 4 * length, 6, bass);
                notes.push(ExpectedNote { marks: Marks::HELD, voice: 1, ..held });
            }
            (With::Trill, 0) if event == 0 => {
                let trill = note(0, events * length, 5, 45);
                notes.push(ExpectedNote { trill: Pitch::new(47), voice: 1, ..trill });
            }
            _ => {}
        }
        let attack = if place == 3 { Attack::Slurred } else { Attack::Plucked };
        notes.push(ExpectedNote { marks, attack, ..plain });
        if with == With::Chords && place == 1 {
            for (string, above) in [(3, 7), (2, 12)] {
                let pitch = STEPS_FROM + step(event) + above;
                notes.push(note(event * length, length, string, pitch));
            }
        }
    }
    if with == With::Landing {
        for (string, pitch) in [(5, 45), (3, 57), (2, 60)] {
            let landing = note(events * length, Ticks::PER_QUARTER, string, pitch);
            notes.push(ExpectedNote { marks: Marks::LANDING, ..landing });
        }
    }
    let tempo = Tempo::from_beats_per_minute(72, Ticks::new(Ticks::PER_QUARTER)).expect("a tempo");
    let name = format!("{events} notes of 1/{}", 4 * a_quarter);
    Piece { name, notes, tempo, metre: Metre::FOUR_FOUR }
}

/// The lowest note of a line: E on the fourth string.
const STEPS_FROM: u8 = 52;

/// How far above it an event is: an octave of the scale, up and down.
fn step(event: u32) -> u8 {
    const STEPS: [u8; 8] = [0, 2, 4, 5, 7, 9, 11, 12];
    let around = event as usize % 14;
    STEPS[if around < 8 { around } else { 14 - around }]
}

fn note(onset: u32, length: u32, string: u8, pitch: u8) -> ExpectedNote {
    let pitch = Pitch::new(pitch).expect("a guitar's pitch");
    let plain = ExpectedNote::plain(Ticks::new(onset), Ticks::new(length), pitch);
    ExpectedNote { string: GuitarString::new(string), ..plain }
}
