//! The notes of an attempt as the log keeps them: twelve bytes each, little-endian.

use evenhand_core::attempt::{Onset, PlayedNote};

/// How a note began.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BeganBy {
    /// The pickup sent a note.
    #[default]
    Struck,
    /// A weak note right after the last one of its string ended.
    Trailing,
    /// Another pitch of the same stroke.
    Corrected,
    /// A sounding note was bent to another semitone.
    Bent,
    /// The sounding note once more, at once.
    Again,
    /// Another string's note, heard through this one.
    Crosstalk,
    /// A kind that this version of the program does not tell apart.
    Other(u8),
}

/// A note as it was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RawNote {
    /// When it began, in microseconds from the first note of its attempt.
    pub at_us: i32,
    /// How long it sounded; none if its end was not heard.
    pub lasted_us: Option<i32>,
    /// Its string, from 1; none where channels say nothing.
    pub string: Option<u8>,
    /// Its pitch, as a MIDI note number.
    pub pitch: u8,
    /// How hard it was struck, 1 to 127; none where that was not heard.
    pub velocity: Option<u8>,
    /// How it began.
    pub began_by: BeganBy,
}

impl From<&PlayedNote> for RawNote {
    fn from(note: &PlayedNote) -> Self {
        Self {
            at_us: note.at.as_micros(),
            lasted_us: note.lasted.map(|lasted| lasted.as_micros()),
            string: note.string.map(|string| string.number()),
            pitch: note.pitch.number(),
            velocity: note.velocity.map(|velocity| velocity.value()),
            began_by: note.onset.into(),
        }
    }
}

impl From<Onset> for BeganBy {
    fn from(onset: Onset) -> Self {
        match onset {
            Onset::Struck => Self::Struck,
            Onset::Trailing => Self::Trailing,
            Onset::Corrected => Self::Corrected,
            Onset::Bent => Self::Bent,
            Onset::Again => Self::Again,
            Onset::Crosstalk => Self::Crosstalk,
        }
    }
}

/// Codes of the ways in which a note began, in their order.
const CODES: [BeganBy; 6] = [
    BeganBy::Struck,
    BeganBy::Trailing,
    BeganBy::Corrected,
    BeganBy::Bent,
    BeganBy::Again,
    BeganBy::Crosstalk,
];

impl BeganBy {
    /// Its number in the log.
    pub fn code(self) -> u8 {
        match self {
            Self::Other(code) => code,
            known => {
                CODES.iter().zip(0..).find(|(of, _)| **of == known).map_or(0, |(_, code)| code)
            }
        }
    }

    fn of(code: u8) -> Self {
        CODES.get(usize::from(code)).copied().unwrap_or(Self::Other(code))
    }
}

/// Bytes of a note.
const BYTES: usize = 12;

/// Notes to bytes.
pub fn pack(notes: &[RawNote]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(notes.len() * BYTES);
    for note in notes {
        bytes.extend(note.at_us.to_le_bytes());
        bytes.extend(note.lasted_us.unwrap_or(-1).to_le_bytes());
        let none = 0;
        bytes.extend([
            note.string.unwrap_or(none),
            note.pitch,
            note.velocity.unwrap_or(none),
            note.began_by.code(),
        ]);
    }
    bytes
}

/// Bytes to notes; none if the bytes are no notes.
pub fn unpack(bytes: &[u8]) -> Option<Vec<RawNote>> {
    let (notes, rest) = bytes.as_chunks::<BYTES>();
    rest.is_empty().then(|| {
        let number = |from: &[u8; BYTES], at: usize| {
            i32::from_le_bytes([from[at], from[at + 1], from[at + 2], from[at + 3]])
        };
        let some = |byte: u8| (byte != 0).then_some(byte);
        let note = |bytes: &[u8; BYTES]| RawNote {
            at_us: number(bytes, 0),
            lasted_us: Some(number(bytes, 4)).filter(|lasted| *lasted >= 0),
            string: some(bytes[8]),
            pitch: bytes[9],
            velocity: some(bytes[10]),
            began_by: BeganBy::of(bytes[11]),
        };
        notes.iter().map(note).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_comes_back() {
        let plain = RawNote {
            at_us: 0,
            lasted_us: Some(250_000),
            string: Some(6),
            pitch: 40,
            velocity: Some(127),
            began_by: BeganBy::Struck,
        };
        let bare = RawNote {
            at_us: -1_500,
            lasted_us: None,
            string: None,
            velocity: None,
            began_by: BeganBy::Other(200),
            ..plain
        };
        for (code, began_by) in (0..).zip(CODES) {
            assert_eq!((began_by.code(), BeganBy::of(code)), (code, began_by));
        }
        let bytes = pack(&[plain, bare]);
        assert_eq!(bytes.len(), 24);
        assert_eq!(&bytes[..12], [0, 0, 0, 0, 0x90, 0xd0, 3, 0, 6, 40, 127, 0]);
        assert_eq!(unpack(&bytes), Some(vec![plain, bare]));
        assert_eq!(unpack(&bytes[..23]), None);
        assert_eq!(unpack(&[]), Some(Vec::new()));
    }
}
