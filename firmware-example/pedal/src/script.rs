//! Performances written down beforehand, as the bytes and times of a MIDI line.

use evenhand_core::units::Instant;

use crate::{Heard, Input};

/// One byte takes this long on a MIDI line: 10 bits at 31,250 baud (IEC 63035).
const BYTE_MICROS: u32 = 320;

/// One note as it was played.
#[derive(Clone, Copy, Debug)]
pub struct Played {
    /// Its onset, in milliseconds.
    pub at: u32,
    /// Its string, 1 to 8; string 1 sends on the first channel.
    pub string: u8,
    /// Its pitch, a MIDI note number.
    pub pitch: u8,
    /// How hard it was struck, 1 to 127.
    pub velocity: u8,
    /// How long it sounds, in milliseconds.
    pub lasts: u32,
}

/// A byte and when it has arrived, in microseconds.
pub type Timed = (u32, u8);

/// How many bytes so many notes take: a beginning and an end each, with status byte.
pub const fn length(notes: usize) -> usize {
    notes * 6
}

/// Writes notes as bytes, in order of time, one after the other as a line carries them.
///
/// `BYTES` has to be [`length`] of `NOTES`; anything else does not compile where the result is
/// a constant.
pub const fn bytes<const NOTES: usize, const BYTES: usize>(
    notes: &[Played; NOTES],
) -> [Timed; BYTES] {
    assert!(BYTES == length(NOTES));
    let mut bytes = [(0, 0); BYTES];
    let mut done = 0;
    // The line is busy until then.
    let mut busy = 0;
    let mut last = None;
    while done < BYTES {
        let Some((time, note, ends)) = next_after(notes, last) else {
            break;
        };
        last = Some((time, note, ends));
        let Played { string, pitch, velocity, .. } = notes[note];
        let status = 0x90 | (string - 1) & 0x0f;
        let message = [status, pitch & 0x7f, if ends { 0 } else { velocity & 0x7f }];
        let mut index = 0;
        while index < 3 {
            let begins = if busy > time { busy } else { time };
            busy = begins + BYTE_MICROS;
            bytes[done] = (busy, message[index]);
            done += 1;
            index += 1;
        }
    }
    bytes
}

/// Something that a note does: when in microseconds, which note, and whether it ends.
type Change = (u32, usize, bool);

/// The change that comes next after `last`. Where times are equal, ends come before beginnings.
const fn next_after(notes: &[Played], last: Option<Change>) -> Option<Change> {
    let mut next: Option<Change> = None;
    let mut index = 0;
    while index < notes.len() * 2 {
        let (note, ends) = (index / 2, index % 2 == 1);
        let lasted = if ends { notes[note].lasts } else { 0 };
        let change = ((notes[note].at + lasted) * 1_000, note, ends);
        let is_new = match last {
            None => true,
            Some(last) => comes_before(last, change),
        };
        let is_sooner = match next {
            None => true,
            Some(next) => comes_before(change, next),
        };
        if is_new && is_sooner {
            next = Some(change);
        }
        index += 1;
    }
    next
}

const fn comes_before(a: Change, b: Change) -> bool {
    if a.0 != b.0 {
        return a.0 < b.0;
    }
    if a.2 != b.2 {
        return a.2;
    }
    a.1 < b.1
}

/// An input that plays a table, in the table's own time.
#[derive(Clone, Debug)]
pub struct Script<'a> {
    left: &'a [Timed],
}

impl<'a> Script<'a> {
    /// Plays `table`, whose times must not step back.
    pub const fn new(table: &'a [Timed]) -> Self {
        Self { left: table }
    }
}

impl Input for Script<'_> {
    fn next(&mut self, until: Option<Instant>) -> Heard {
        let Some((&(micros, byte), rest)) = self.left.split_first() else {
            return Heard::End;
        };
        let at = Instant::from_micros(u64::from(micros));
        if until.is_some_and(|until| until < at) {
            return Heard::Quiet;
        }
        self.left = rest;
        Heard::Byte { byte, at }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO: [Played; 2] = [
        Played { at: 10, string: 2, pitch: 60, velocity: 90, lasts: 5 },
        Played { at: 15, string: 2, pitch: 62, velocity: 80, lasts: 5 },
    ];

    #[test]
    fn a_string_ends_a_note_before_it_begins_the_next() {
        let bytes: [Timed; 12] = bytes(&TWO);
        let expected = [0x91, 60, 90, 0x91, 60, 0, 0x91, 62, 80, 0x91, 62, 0];
        assert_eq!(bytes.map(|timed| timed.1), expected);
    }

    #[test]
    fn a_byte_has_arrived_when_the_line_has_carried_it() {
        let bytes: [Timed; 12] = bytes(&TWO);
        assert_eq!(bytes[0].0, 10_320);
        assert_eq!(bytes[2].0, 10_960);
        assert!(bytes.windows(2).all(|pair| pair[1].0 - pair[0].0 >= BYTE_MICROS));
    }
}
