//! Played notes in a result.

use super::codes;
use crate::attempt::PlayedNote;
use crate::units::{GuitarString, Offset, Pitch, Span, Velocity};
use serde::{Deserialize, Serialize};

/// A note as it is written.
#[derive(Clone, Copy, Serialize, Deserialize)]
struct Written {
    /// From the note before it, or from the first note of the attempt, in microseconds.
    after: i32,
    /// How long it sounded, in microseconds, and one more; 0 if its end was not heard.
    lasted: u32,
    pitch: u8,
    /// 0 where none was heard.
    velocity: u8,
    /// The string, 0 for none; 16 times how it began.
    string: u8,
}

/// Writes notes; gives what is left of the room.
pub(super) fn write<'b>(notes: &[PlayedNote], mut room: &'b mut [u8]) -> Option<&'b mut [u8]> {
    let mut before = 0_i32;
    for note in notes {
        let at = note.at.as_micros();
        let lasted = note
            .lasted
            .map_or(0, |lasted| u32::try_from(lasted.as_micros()).unwrap_or(0).saturating_add(1));
        let written = Written {
            after: at.wrapping_sub(before),
            lasted,
            pitch: note.pitch.number(),
            velocity: note.velocity.map_or(0, Velocity::value),
            string: note.string.map_or(0, GuitarString::number) | codes::onset(note.onset) << 4,
        };
        let used = postcard::to_slice(&written, room).ok()?.len();
        room = room.get_mut(used..)?;
        before = at;
    }
    Some(room)
}

/// The played notes of a result, checked when it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedNotes<'a> {
    count: u16,
    bytes: &'a [u8],
}

impl<'a> PlayedNotes<'a> {
    /// So many notes, which must fill the bytes.
    pub(super) fn read(count: u16, bytes: &'a [u8]) -> Option<Self> {
        let notes = Self { count, bytes };
        let mut each = notes.iter();
        let read = each.by_ref().count();
        (read == usize::from(count) && each.bytes.is_empty()).then_some(notes)
    }

    /// How many there are.
    pub const fn len(&self) -> usize {
        self.count as usize
    }

    /// Whether there are none: nothing was played, or more than a result keeps.
    pub const fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// The notes, in order of arrival.
    pub const fn iter(&self) -> PlayedNotesIter<'a> {
        PlayedNotesIter { left: self.count, at: 0, bytes: self.bytes }
    }
}

impl<'a> IntoIterator for &PlayedNotes<'a> {
    type Item = PlayedNote;
    type IntoIter = PlayedNotesIter<'a>;

    fn into_iter(self) -> PlayedNotesIter<'a> {
        self.iter()
    }
}

/// The notes of [`PlayedNotes`], one after the other.
#[derive(Clone, Debug)]
pub struct PlayedNotesIter<'a> {
    left: u16,
    at: i32,
    bytes: &'a [u8],
}

impl Iterator for PlayedNotesIter<'_> {
    type Item = PlayedNote;

    fn next(&mut self) -> Option<PlayedNote> {
        let left = self.left.checked_sub(1)?;
        let (written, rest) = postcard::take_from_bytes::<Written>(self.bytes).ok()?;
        let velocity = match written.velocity {
            0 => None,
            heard => Some(Velocity::new(heard)?),
        };
        let string = match written.string & 0xf {
            0 => None,
            number => Some(GuitarString::new(number)?),
        };
        let lasted = match written.lasted.checked_sub(1) {
            None => None,
            Some(micros) => Some(Span::of(Offset::from_micros(i32::try_from(micros).ok()?))),
        };
        let at = self.at.wrapping_add(written.after);
        let note = PlayedNote {
            at: Offset::from_micros(at),
            lasted,
            pitch: Pitch::new(written.pitch)?,
            velocity,
            string,
            onset: codes::onset_of(written.string >> 4)?,
        };
        (self.left, self.at, self.bytes) = (left, at, rest);
        Some(note)
    }
}
