//! What of a MIDI line the judge can use. The rest is not worth its place while bytes wait.
//!
//! Notes, bends, and the controllers that say how far a bend goes or end notes are used; a clock, active
//! sensing, pressure, programs, other controllers and the contents of system messages are not. Messages go as a
//! whole, with the status byte that running status (MIDI 1.0) left out, so that what stays means what it meant.
//!
//! It is meant for an interrupt that runs while nothing can be read from flash: everything is inlined, and
//! there is no table in it.

/// What is to be done with the next data byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Data {
    /// Nobody can use it.
    Drop,
    /// It goes on.
    Pass,
    /// It is the number of a controller, which decides.
    Number,
    /// It is the value of a controller that is used, or that is not.
    Value { used: bool },
}

/// Thins a stream, a byte at a time.
#[derive(Clone, Copy, Debug)]
pub struct Thinning {
    status: u8,
    data: Data,
}

impl Default for Thinning {
    fn default() -> Self {
        Self::new()
    }
}

impl Thinning {
    /// A stream about which nothing is known yet.
    #[inline(always)]
    pub const fn new() -> Self {
        Self { status: 0, data: Data::Drop }
    }

    /// Takes a byte. Gives what is to be passed on then: a status byte that goes before it, and the byte.
    #[inline(always)]
    pub fn push(&mut self, byte: u8) -> (Option<u8>, Option<u8>) {
        let this = |passes: bool| (None, if passes { Some(byte) } else { None });
        if byte >= 0xf8 {
            // A reset is all of the real-time messages that means something for notes.
            this(byte == 0xff)
        } else if byte >= 0x80 {
            self.status = byte;
            // Off, on, bend: 8, 9, 14. System messages end running status, and so are passed on.
            let kind = byte >> 4;
            let is_used = (1_u32 << kind) & 0b1100_0011_0000_0000 != 0;
            self.data = match () {
                () if kind == 0xb => Data::Number,
                () if is_used && kind != 0xf => Data::Pass,
                () => Data::Drop,
            };
            this(is_used)
        } else {
            match self.data {
                Data::Drop => this(false),
                Data::Pass => this(true),
                Data::Number => {
                    let used = is_used(byte);
                    self.data = Data::Value { used };
                    (if used { Some(self.status) } else { None }, this(used).1)
                }
                Data::Value { used } => {
                    self.data = Data::Number;
                    this(used)
                }
            }
        }
    }
}

/// Whether this controller says something about notes or bends: data entry (6, 38), parameters (98 to 101), and
/// the channel's modes (120 on) but for local control (122); MIDI 1.0, table of controllers.
#[inline(always)]
const fn is_used(number: u8) -> bool {
    number == 6 || number == 38 || number >= 98 && number <= 101 || number >= 120 && number != 122
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use evenhand_core::player::Chance;
    use evenhand_core::wire::Wire;
    use std::vec::Vec;
    use wmidi::MidiMessage;

    fn thinned(bytes: &[u8]) -> Vec<u8> {
        let mut thinning = Thinning::new();
        let mut out = Vec::new();
        for byte in bytes {
            let (before, own) = thinning.push(*byte);
            out.extend(before.into_iter().chain(own));
        }
        out
    }

    /// The messages that core listens to.
    fn used(bytes: &[u8]) -> Vec<MidiMessage<'static>> {
        let mut wire = Wire::new();
        let messages = bytes.iter().filter_map(|byte| wire.push(*byte));
        messages
            .filter(|message| match message {
                MidiMessage::ControlChange(_, number, _) => is_used(u8::from(*number)),
                MidiMessage::NoteOn(..)
                | MidiMessage::NoteOff(..)
                | MidiMessage::PitchBendChange(..)
                | MidiMessage::Reset => true,
                _ => false,
            })
            .collect()
    }

    #[test]
    fn what_is_used_stays_whatever_comes_between() {
        let mut chance = Chance::new(7);
        let mut kept = 0;
        for _ in 0..2_000 {
            let bytes: Vec<u8> = (0..60)
                .map(|_| match chance.below(8) {
                    0 => [0x90, 0x80, 0xe1, 0xb0, 0xd0, 0xa3, 0xc0, 0xf0][chance.below(8) as usize],
                    1 => 0xf0 + chance.below(16) as u8,
                    2 => [6, 38, 98, 99, 100, 101, 120, 121, 122, 123, 7, 64]
                        [chance.below(12) as usize],
                    _ => chance.below(128) as u8,
                })
                .collect();
            let thin = thinned(&bytes);
            assert_eq!(used(&thin), used(&bytes), "{bytes:02x?} became {thin:02x?}");
            kept += used(&bytes).len();
        }
        assert!(kept > 10_000, "{kept}");
    }

    #[test]
    fn what_nobody_uses_takes_no_place() {
        assert_eq!(thinned(&[0xf8, 0xfe, 0xd0, 5, 6, 7, 0xb1, 7, 100, 11, 90]), []);
        // A note, pressure in its running status' way, and the next note.
        let note = [0x90, 64, 90, 0xd0, 20, 21, 0x90, 65, 80];
        assert_eq!(thinned(&note), [0x90, 64, 90, 0x90, 65, 80]);
        // A controller that counts, after one that does not: with its status byte.
        assert_eq!(thinned(&[0xb0, 7, 100, 101, 0]), [0xb0, 101, 0]);
    }
}
