//! What can be found out about a pickup by playing on it, as pure estimates from what came.
//!
//! One file a subject. Each takes notes and gives a value, or says what was not enough.

mod latency;
mod lateness;
mod layout;
mod levels;
mod noise;
pub mod playing;
mod slurs;

pub use latency::{PINCHES, Periods, outer, periods};
pub use lateness::{GRIPS, Lateness, StringLate, lateness};
pub use layout::{Layout, layout};
pub use levels::{Levels, level_scatter, levels};
pub use noise::{Noise, noise};
pub use slurs::{SEMITONES, Slurs, slurs};

use evenhand_core::wire::Wire;
use wmidi::MidiMessage;

/// A note as it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// The channel, from 0.
    pub channel: u8,
    /// Its number.
    pub pitch: u8,
    /// Its velocity.
    pub velocity: u8,
    /// When it came, in microseconds.
    pub at: u64,
}

/// A pitch bend as it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bend {
    /// The channel, from 0.
    pub channel: u8,
    /// How far, of 8192 in either direction.
    pub by: i32,
    /// When, in microseconds.
    pub at: u64,
}

/// What came while something was played.
#[derive(Clone, Debug, Default)]
pub struct Take {
    /// The notes, in order of time.
    pub notes: Vec<Note>,
    /// The bends, in order of time.
    pub bends: Vec<Bend>,
    wire: Wire,
}

impl Take {
    /// Takes bytes that came at this time.
    pub fn hear(&mut self, bytes: &[u8], at: u64) {
        for byte in bytes {
            match self.wire.push(*byte) {
                Some(MidiMessage::NoteOn(channel, pitch, velocity)) if u8::from(velocity) > 0 => {
                    let (channel, pitch) = (channel.index(), u8::from(pitch));
                    self.notes.push(Note { channel, pitch, velocity: velocity.into(), at });
                }
                Some(MidiMessage::PitchBendChange(channel, bend)) => {
                    let by = i32::from(u16::from(bend)) - 8_192;
                    self.bends.push(Bend { channel: channel.index(), by, at });
                }
                _ => {}
            }
        }
    }

    /// The notes that are the string itself: those of the pitch that came most often. Others
    /// are noise.
    pub fn main(&self) -> Vec<Note> {
        let pitch = most_common(self.notes.iter().map(|note| note.pitch));
        self.notes.iter().copied().filter(|note| Some(note.pitch) == pitch).collect()
    }
}

/// The value that is there most often; of equals the smallest.
fn most_common(values: impl Iterator<Item = u8>) -> Option<u8> {
    let mut counts = [0_u32; 256];
    for value in values {
        counts[usize::from(value)] += 1;
    }
    let most = counts.iter().max().filter(|most| **most > 0)?;
    counts.iter().position(|count| count == most).and_then(|value| u8::try_from(value).ok())
}

/// The middle value; of an even number the mean of the middle two.
fn median(values: &mut [i64]) -> Option<i64> {
    values.sort_unstable();
    let upper = *values.get(values.len() / 2)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    values.get(values.len() / 2 - 1).map(|lower| (lower + upper) / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_and_bends_are_taken_from_bytes_in_any_pieces() {
        let mut take = Take::default();
        for (at, byte) in [0x95, 64, 80, 64, 0, 0xe5, 0, 0x50, 0x95, 76, 20].iter().enumerate() {
            take.hear(&[*byte], at as u64);
        }
        let note = |pitch, velocity, at| Note { channel: 5, pitch, velocity, at };
        assert_eq!(take.notes, [note(64, 80, 2), note(76, 20, 10)]);
        assert_eq!(take.bends, [Bend { channel: 5, by: 2_048, at: 7 }]);
        assert_eq!(take.main(), [note(64, 80, 2)]);
    }

    #[test]
    fn medians() {
        assert_eq!(median(&mut []), None);
        assert_eq!(median(&mut [3]), Some(3));
        assert_eq!(median(&mut [4, 1]), Some(2));
        assert_eq!(median(&mut [9, 1, 4]), Some(4));
    }
}
