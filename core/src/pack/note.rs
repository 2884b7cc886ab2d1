//! Expected notes in a pack.

use crate::study::{Attack, ExpectedNote, Marks};
use crate::units::{GuitarString, Pitch, Ticks};
use serde::{Deserialize, Serialize};

/// A note as it is written. Numbers that are never large take a byte.
#[derive(Clone, Copy, Serialize, Deserialize)]
struct Written {
    /// From the onset of the note before it, or from the beginning.
    after: u32,
    duration: u32,
    pitch: u8,
    /// The string, 0 for none; 16 more if it is slurred.
    string: u8,
    /// The marks in six bits; 64 more if a trill follows.
    marks: u8,
    voice: u8,
}

const SLURRED: u8 = 16;
const TRILL: u8 = 64;

/// Writes a note; gives what is left of the room.
pub(super) fn write<'b>(
    note: &ExpectedNote,
    before: Ticks,
    room: &'b mut [u8],
) -> Option<&'b mut [u8]> {
    let string = note.string.map_or(0, GuitarString::number);
    let slurred = if note.attack == Attack::Slurred { SLURRED } else { 0 };
    let trill = if note.trill.is_some() { TRILL } else { 0 };
    let written = Written {
        after: note.onset.since(before).get(),
        duration: note.duration.get(),
        pitch: note.pitch.number(),
        string: string | slurred,
        marks: note.marks.bits() | trill,
        voice: note.voice,
    };
    let used = postcard::to_slice(&written, room).ok()?.len();
    let room = room.get_mut(used..)?;
    match note.trill {
        None => Some(room),
        Some(trill) => {
            let (first, room) = room.split_first_mut()?;
            *first = trill.number();
            Some(room)
        }
    }
}

/// The notes of a part, one after the other.
#[derive(Clone, Copy)]
pub(super) struct Notes<'a> {
    left: u16,
    at: Ticks,
    bytes: &'a [u8],
}

impl<'a> Notes<'a> {
    pub(super) const fn new(count: u16, bytes: &'a [u8]) -> Self {
        Self { left: count, at: Ticks::ZERO, bytes }
    }

    /// Whether nothing stands after the last note.
    pub(super) const fn is_done(&self) -> bool {
        self.left == 0 && self.bytes.is_empty()
    }

    /// Whether notes should follow.
    pub(super) const fn has_more(&self) -> bool {
        self.left > 0
    }
}

impl Iterator for Notes<'_> {
    type Item = ExpectedNote;

    /// The next note; none after the last one, or if what follows is no note.
    fn next(&mut self) -> Option<ExpectedNote> {
        self.left.checked_sub(1)?;
        let (written, mut rest) = postcard::take_from_bytes::<Written>(self.bytes).ok()?;
        let trill = if written.marks & TRILL == 0 {
            None
        } else {
            let (first, after) = rest.split_first()?;
            rest = after;
            Some(Pitch::new(*first)?)
        };
        let string = match written.string & !SLURRED {
            0 => None,
            number => Some(GuitarString::new(number)?),
        };
        let slurred = written.string & SLURRED != 0;
        let onset = Ticks::new(self.at.get().checked_add(written.after)?);
        let note = ExpectedNote {
            onset,
            duration: Ticks::new(written.duration),
            pitch: Pitch::new(written.pitch)?,
            string,
            attack: if slurred { Attack::Slurred } else { Attack::Plucked },
            trill,
            marks: Marks::of_bits(written.marks & !TRILL)?,
            voice: written.voice,
        };
        (self.left, self.at, self.bytes) = (self.left.saturating_sub(1), onset, rest);
        Some(note)
    }
}
