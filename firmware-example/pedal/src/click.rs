//! The count-in as notes of an instrument, for a board with a MIDI output.
//!
//! Channel 10 and the keys 76 and 77, high and low wood block, are the percussion map of General
//! MIDI System Level 1 (MIDI Manufacturers Association, 1991). Velocities are our defaults. The
//! same notes click on the computer.

use evenhand_core::units::Offset;

const ON: u8 = 0x99;
const OFF: u8 = 0x89;
const STRONG: (u8, u8) = (76, 110);
const WEAK: (u8, u8) = (77, 90);

/// How long a note is held. Our default, shorter than the shortest beat that anybody counts.
pub const HELD: Offset = Offset::from_millis(30);

/// The bytes with which a beat begins; the first of a bar is strong.
pub const fn begin(strong: bool) -> [u8; 3] {
    let (key, velocity) = if strong { STRONG } else { WEAK };
    [ON, key, velocity]
}

/// The bytes with which it ends.
pub const fn end(strong: bool) -> [u8; 3] {
    let (key, _) = if strong { STRONG } else { WEAK };
    [OFF, key, 0]
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::vec::Vec;
    use wmidi::{Channel, MidiMessage};

    #[test]
    fn beats_are_notes_of_the_percussion_channel_that_end() {
        let mut keys = Vec::new();
        for strong in [true, false] {
            let (begin, end) = (begin(strong), end(strong));
            let Ok(MidiMessage::NoteOn(Channel::Ch10, on, velocity)) =
                MidiMessage::try_from(&begin[..])
            else {
                panic!("{begin:?}");
            };
            let Ok(MidiMessage::NoteOff(Channel::Ch10, off, _)) = MidiMessage::try_from(&end[..])
            else {
                panic!("{end:?}");
            };
            assert_eq!(on, off);
            assert!(u8::from(velocity) > 0, "a velocity of 0 would end it");
            keys.push(u8::from(on));
        }
        assert_eq!(keys, [76, 77]);
    }
}
