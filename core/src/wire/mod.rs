//! Bytes to messages.
//!
//! MIDI 1.0's rules for the byte stream, which a pickup on a serial line uses to the full:
//!
//! * a status byte need not be sent again for the next message of the same kind and channel
//!   (*running status*);
//! * real-time bytes (`F8` and above) may stand anywhere, even inside another message, and
//!   change nothing about it;
//! * System Common and SysEx end running status; any status byte ends an unfinished message;
//! * data bytes without a status are passed over.
//!
//! Splitting a stream into pieces anywhere changes nothing: [`Wire`] takes one byte at a time.

use wmidi::MidiMessage;

/// Puts messages together from bytes as they arrive. Constant work and memory a byte.
///
/// The contents of SysEx are passed over; everything else comes out as a
/// [`wmidi::MidiMessage`] as soon as its last byte is in.
///
/// ```
/// use evenhand_core::wire::Wire;
/// use wmidi::MidiMessage;
///
/// let mut wire = Wire::new();
/// // A note-on, a clock byte in the middle of the next message, and that message without
/// // its status byte.
/// let bytes = [0x90, 64, 100, 67, 0xf8, 90];
/// let heard = bytes.iter().filter_map(|&byte| wire.push(byte));
/// let notes = heard.filter(|message| matches!(message, MidiMessage::NoteOn(..)));
/// assert_eq!(notes.count(), 2);
/// ```
#[derive(Clone, Debug, Default)]
pub struct Wire {
    /// The status byte that data bytes belong to; 0 for none.
    status: u8,
    /// Data bytes of the unfinished message.
    data: [u8; 2],
    /// How many of them are in.
    have: u8,
    in_sysex: bool,
    passed_over: u32,
}

impl Wire {
    /// A stream about which nothing is known yet.
    pub const fn new() -> Self {
        Self { status: 0, data: [0; 2], have: 0, in_sysex: false, passed_over: 0 }
    }

    /// Takes the next byte, and gives the message that it completes.
    pub fn push(&mut self, byte: u8) -> Option<MidiMessage<'static>> {
        match byte {
            0xf8..=0xff => decode(&[byte]),
            0x80..=0xf7 => self.begin(byte),
            _ => self.add(byte),
        }
    }

    /// Forgets the message that is coming in, and the running status: what comes next may be
    /// the rest of a message that nobody has seen begin.
    pub const fn interrupt(&mut self) {
        (self.status, self.have, self.in_sysex) = (0, 0, false);
    }

    /// Data bytes that belonged to no message: a sign of a damaged line or of a start in
    /// the middle of a message. Held at the largest value.
    pub const fn passed_over(&self) -> u32 {
        self.passed_over
    }

    fn begin(&mut self, status: u8) -> Option<MidiMessage<'static>> {
        self.have = 0;
        self.in_sysex = status == 0xf0;
        // After these nothing can follow that belongs to them.
        let complete = matches!(status, 0xf0 | 0xf4..=0xf7);
        self.status = if complete { 0 } else { status };
        if status == 0xf6 { decode(&[status]) } else { None }
    }

    fn add(&mut self, byte: u8) -> Option<MidiMessage<'static>> {
        if self.in_sysex {
            return None;
        }
        if self.status == 0 {
            self.passed_over = self.passed_over.saturating_add(1);
            return None;
        }
        let [first, second] = &mut self.data;
        if self.have == 0 {
            *first = byte;
        } else {
            *second = byte;
        }
        self.have += 1;
        if self.have < data_bytes(self.status) {
            return None;
        }
        let (status, first, second) = (self.status, *first, *second);
        self.have = 0;
        if status >= 0xf0 {
            self.status = 0;
        }
        if data_bytes(status) == 1 {
            decode(&[status, first])
        } else {
            decode(&[status, first, second])
        }
    }
}

/// How many data bytes follow a status byte below `F8` (MIDI 1.0, table of status bytes).
const fn data_bytes(status: u8) -> u8 {
    match status {
        0xc0..=0xdf | 0xf1 | 0xf3 => 1,
        _ => 2,
    }
}

fn decode(bytes: &[u8]) -> Option<MidiMessage<'static>> {
    // `F9` and `FD` are undefined in MIDI 1.0; nothing is to be done about them.
    MidiMessage::try_from(bytes)
        .ok()
        .and_then(MidiMessage::drop_unowned_sysex)
        .filter(|message| !matches!(message, MidiMessage::Reserved(_)))
}

#[cfg(test)]
mod tests;
