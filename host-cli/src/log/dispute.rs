//! An attempt that the player says was right, with all that it was judged by.

use jiff::Timestamp;

/// A MIDI message as it came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// When, in microseconds from the attempt's first note.
    pub at_us: u32,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A dispute about an attempt of the same sitting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dispute {
    /// The number of the attempt.
    pub number: u32,
    /// When the player said so.
    pub disputed: Timestamp,
    /// What it was judged by.
    pub evidence: Evidence,
}

/// What an attempt was judged by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Evidence {
    /// What was to be played, as a pack of one chunk without names; empty where it fits none.
    pub music: Vec<u8>,
    /// The pickup as it was known, with what had been learnt of it, as the text of a profile.
    pub pickup: String,
    /// When the chunk was due by the click, in microseconds from the attempt's first note.
    pub click_us: Option<i64>,
    /// What came, from the attempt's first note until it was judged.
    pub messages: Vec<Message>,
}

/// Messages as the log keeps them: four bytes of time, one of length, and the message.
pub(super) fn pack(messages: &[Message]) -> Vec<u8> {
    let mut packed = Vec::new();
    for Message { at_us, bytes } in messages {
        let length = u8::try_from(bytes.len()).unwrap_or(u8::MAX);
        packed.extend(at_us.to_le_bytes());
        packed.push(length);
        packed.extend(bytes.iter().take(length.into()));
    }
    packed
}

/// The same back; none if that is not what the bytes are.
pub(super) fn unpack(mut packed: &[u8]) -> Option<Vec<Message>> {
    let mut messages = Vec::new();
    while !packed.is_empty() {
        let (time, rest) = packed.split_first_chunk::<4>()?;
        let (length, rest) = rest.split_first()?;
        let (bytes, rest) = rest.split_at_checked(usize::from(*length))?;
        messages.push(Message { at_us: u32::from_le_bytes(*time), bytes: bytes.to_vec() });
        packed = rest;
    }
    Some(messages)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_are_packed_as_the_page_says() {
        let messages = vec![
            Message { at_us: 0, bytes: vec![0x90, 64, 80] },
            Message { at_us: 0x0102_0304, bytes: vec![0xc0, 5] },
        ];
        let packed = pack(&messages);
        assert_eq!(packed, [0, 0, 0, 0, 3, 0x90, 64, 80, 4, 3, 2, 1, 2, 0xc0, 5]);
        assert_eq!(unpack(&packed), Some(messages));
        assert_eq!(unpack(&[]), Some(vec![]));
        for cut in [1, 4, 5, 7, 14] {
            assert_eq!(unpack(&packed[..cut]), None, "{cut}");
        }
    }
}
