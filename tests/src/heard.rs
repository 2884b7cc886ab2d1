//! What a stream of MIDI bytes says, in one simple form, as two libraries read it.
//!
//! Only channel messages count here. The libraries differ in two points that are settled by
//! MIDI 1.0: a note-on with velocity 0 is a note-off (midly passes it on as a note-on), and the
//! velocity of a note-off is ignored.

use midly::MidiMessage as Midly;
use midly::live::LiveEvent;
use midly::stream::MidiStream;
use wmidi::MidiMessage as Wmidi;

/// A channel message. Channels count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A note begins: channel, note number, velocity from 1.
    On(u8, u8, u8),
    /// A note ends: channel, note number.
    Off(u8, u8),
    /// Pressure on one key: channel, note number, pressure.
    KeyPressure(u8, u8, u8),
    /// A controller: channel, number, value.
    Controller(u8, u8, u8),
    /// Another sound: channel, number.
    Program(u8, u8),
    /// Pressure on the channel: channel, pressure.
    Pressure(u8, u8),
    /// The pitch bend: channel, position from 0 to 16,383; the middle is 8,192.
    Bend(u8, u16),
}

impl Heard {
    /// A note-on, or a note-off if the velocity is 0.
    pub fn on(channel: u8, note: u8, velocity: u8) -> Self {
        if velocity == 0 { Self::Off(channel, note) } else { Self::On(channel, note, velocity) }
    }
}

/// As midly 0.5.3 reads the stream.
pub fn by_midly(bytes: &[u8]) -> Vec<Heard> {
    let mut heard = Vec::new();
    MidiStream::new().feed(bytes, |event| {
        if let LiveEvent::Midi { channel, message } = event {
            let channel = channel.as_int();
            heard.push(match message {
                Midly::NoteOn { key, vel } => Heard::on(channel, key.as_int(), vel.as_int()),
                Midly::NoteOff { key, .. } => Heard::Off(channel, key.as_int()),
                Midly::Aftertouch { key, vel } => {
                    Heard::KeyPressure(channel, key.as_int(), vel.as_int())
                }
                Midly::Controller { controller, value } => {
                    Heard::Controller(channel, controller.as_int(), value.as_int())
                }
                Midly::ProgramChange { program } => Heard::Program(channel, program.as_int()),
                Midly::ChannelAftertouch { vel } => Heard::Pressure(channel, vel.as_int()),
                Midly::PitchBend { bend } => Heard::Bend(channel, bend.0.as_int()),
            });
        }
    });
    heard
}

/// As wmidi 4.0.11 reads the whole messages that [`whole_messages`] finds in the stream.
///
/// # Panics
/// If wmidi refuses one of them.
pub fn by_wmidi(bytes: &[u8]) -> Vec<Heard> {
    whole_messages(bytes)
        .iter()
        .map(|message| {
            let read = Wmidi::try_from(message.as_slice())
                .unwrap_or_else(|error| panic!("wmidi refuses {message:02x?}: {error}"));
            from_wmidi(&read).unwrap_or_else(|| panic!("no channel message: {read:?}"))
        })
        .collect()
}

/// A message of wmidi in our form, if it is a channel message.
pub fn from_wmidi(message: &Wmidi<'_>) -> Option<Heard> {
    let channel = message.channel()?.index();
    match *message {
        Wmidi::NoteOn(_, note, velocity) => {
            Some(Heard::on(channel, u8::from(note), u8::from(velocity)))
        }
        Wmidi::NoteOff(_, note, _) => Some(Heard::Off(channel, u8::from(note))),
        Wmidi::PolyphonicKeyPressure(_, note, pressure) => {
            Some(Heard::KeyPressure(channel, u8::from(note), u8::from(pressure)))
        }
        Wmidi::ControlChange(_, control, value) => {
            Some(Heard::Controller(channel, u8::from(control), u8::from(value)))
        }
        Wmidi::ProgramChange(_, program) => Some(Heard::Program(channel, u8::from(program))),
        Wmidi::ChannelPressure(_, pressure) => Some(Heard::Pressure(channel, u8::from(pressure))),
        Wmidi::PitchBendChange(_, bend) => Some(Heard::Bend(channel, u16::from(bend))),
        _ => None,
    }
}

/// The channel messages of a stream with their status bytes written out: the rules of MIDI 1.0
/// (section 2 and appendix A-2) in the plainest form. It looks at the whole stream, may allocate,
/// and is meant to be read, not to be fast.
pub fn whole_messages(bytes: &[u8]) -> Vec<Vec<u8>> {
    // Real-time bytes stand anywhere and change nothing: leave them out first.
    let bytes: Vec<u8> = bytes.iter().copied().filter(|&byte| byte < 0xf8).collect();
    let mut messages = Vec::new();
    // Cut before every status byte. What stands before the first one has no status.
    let starts: Vec<usize> = (0..bytes.len()).filter(|&at| bytes[at] >= 0x80).collect();
    for (number, &start) in starts.iter().enumerate() {
        let end = starts.get(number + 1).copied().unwrap_or(bytes.len());
        let (status, data) = (bytes[start], &bytes[start + 1..end]);
        // System messages are no channel messages, and what follows them has no status.
        let length = match status & 0xf0 {
            0xf0 => continue,
            0xc0 | 0xd0 => 1,
            _ => 2,
        };
        // Running status: the data bytes after one status are messages of the same kind; an
        // unfinished one at the end is lost.
        let whole = data.chunks_exact(length).map(|data| [&[status], data].concat());
        messages.extend(whole);
    }
    messages
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seeded::Seeded;
    use crate::stream::{Kind, make};

    #[test]
    fn a_stream_with_everything_reads_as_written() {
        let bytes = [
            0x40, // no status yet
            0x90, 64, 0xf8, 100, // a clock inside a note
            52, 0xfe, 0, // running status, velocity 0
            0xf1, 0x10, 60, 61, // System Common ends it, the data mean nothing
            0xe2, 0, 64, // the bend's middle
            0xf0, 1, 2, 0xc3, 7, // System Exclusive, cut off by a program change
            0x93, 40, // a note without a velocity
            0x83, 40, 64,
        ];
        let heard = [
            Heard::On(0, 64, 100),
            Heard::Off(0, 52),
            Heard::Bend(2, 8_192),
            Heard::Program(3, 7),
            Heard::Off(3, 40),
        ];
        assert_eq!(by_midly(&bytes), heard);
        assert_eq!(by_wmidi(&bytes), heard);
    }

    #[test]
    fn the_libraries_agree_on_every_kind_of_stream() {
        for kind in Kind::ALL {
            for seed in 0..200 {
                let bytes = make(kind, &mut Seeded::new(seed));
                let (midly, wmidi) = (by_midly(&bytes), by_wmidi(&bytes));
                assert_eq!(midly, wmidi, "{kind:?}, seed {seed}: {bytes:02x?}");
            }
        }
    }
}
