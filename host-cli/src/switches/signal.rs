//! What comes when a switch is pressed, and how the settings write it.

use crate::screen::Key;
use std::fmt;
use std::str::FromStr;
use wmidi::MidiMessage;

/// From this value on a controller is on, below it off (MIDI 1.0 on controllers 64 to 69, which
/// are switches).
const ON: u8 = 64;

/// What comes when a switch is pressed. Channels count from 0, as in a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// A controller.
    Control {
        /// The channel.
        channel: u8,
        /// Its number.
        number: u8,
        /// The switch stays where it is put, so that each change is a press; otherwise only what
        /// turns it on.
        each_change: bool,
    },
    /// A program change.
    Program {
        /// The channel.
        channel: u8,
        /// Its number, from 0.
        number: u8,
    },
    /// A note.
    Note {
        /// The channel.
        channel: u8,
        /// Its number.
        number: u8,
    },
    /// A key with a letter on it.
    Letter(char),
    /// Another key, by its name.
    Named(&'static str),
}

/// Keys that have a name.
const NAMED: [&str; 8] = ["space", "return", "left", "right", "up", "down", "page up", "page down"];

impl Signal {
    /// What presses a switch, if this message can.
    pub fn of(message: &MidiMessage<'_>) -> Option<Self> {
        match *message {
            MidiMessage::ControlChange(channel, number, value) if u8::from(value) >= ON => {
                let (channel, number) = (channel.index(), u8::from(number));
                Some(Self::Control { channel, number, each_change: false })
            }
            MidiMessage::ProgramChange(channel, number) => {
                Some(Self::Program { channel: channel.index(), number: u8::from(number) })
            }
            MidiMessage::NoteOn(channel, note, velocity) if u8::from(velocity) > 0 => {
                Some(Self::Note { channel: channel.index(), number: u8::from(note) })
            }
            _ => None,
        }
    }

    /// What presses a switch, if this key can.
    pub fn of_key(key: Key) -> Option<Self> {
        match key {
            Key::Char(letter) => Some(Self::Letter(letter)),
            Key::Named(name) => NAMED.into_iter().find(|known| *known == name).map(Self::Named),
            Key::Interrupt | Key::Resized => None,
        }
    }

    /// The same for a switch that stays where it is put.
    #[must_use]
    pub const fn at_each_change(self) -> Self {
        match self {
            Self::Control { channel, number, .. } => {
                Self::Control { channel, number, each_change: true }
            }
            other => other,
        }
    }

    /// Whether this message lets the switch go.
    pub fn is_let_go_by(&self, message: &MidiMessage<'_>) -> bool {
        self.owns(message) && Self::of(message).is_none()
    }

    pub(super) fn is_pressed_by(&self, message: &MidiMessage<'_>) -> bool {
        match self {
            Self::Control { each_change: true, .. } => self.owns(message),
            _ => Self::of(message) == Some(*self),
        }
    }

    /// Whether a message is this switch's, pressed or let go.
    pub(super) fn owns(&self, message: &MidiMessage<'_>) -> bool {
        let (mine, heard) = match (*self, message) {
            (Self::Control { channel, number, .. }, MidiMessage::ControlChange(on, of, _)) => {
                ((channel, number), (on, u8::from(*of)))
            }
            (Self::Program { channel, number }, MidiMessage::ProgramChange(on, of)) => {
                ((channel, number), (on, u8::from(*of)))
            }
            (
                Self::Note { channel, number },
                MidiMessage::NoteOn(on, of, _) | MidiMessage::NoteOff(on, of, _),
            ) => ((channel, number), (on, u8::from(*of))),
            _ => return false,
        };
        mine == (heard.0.index(), heard.1)
    }
}

impl fmt::Display for Signal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let people = |channel: u8| channel + 1;
        match *self {
            Self::Control { channel, number, each_change } => {
                write!(f, "control {number} on channel {}", people(channel))?;
                if each_change { f.write_str(", each change") } else { Ok(()) }
            }
            Self::Program { channel, number } => {
                write!(f, "program {number} on channel {}", people(channel))
            }
            Self::Note { channel, number } => {
                write!(f, "note {number} on channel {}", people(channel))
            }
            Self::Letter(letter) => write!(f, "key {letter}"),
            Self::Named(name) => write!(f, "key {name}"),
        }
    }
}

/// A text that is no signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoSignal;

impl FromStr for Signal {
    type Err = NoSignal;

    fn from_str(text: &str) -> Result<Self, NoSignal> {
        let text = text.trim();
        if let Some(key) = text.strip_prefix("key ") {
            let key = key.trim();
            if let Some(name) = NAMED.into_iter().find(|name| *name == key) {
                return Ok(Self::Named(name));
            }
            let mut letters = key.chars();
            return match (letters.next(), letters.next()) {
                (Some(letter), None) => Ok(Self::Letter(letter)),
                _ => Err(NoSignal),
            };
        }
        let (text, each_change) = match text.strip_suffix(", each change") {
            Some(text) => (text, true),
            None => (text, false),
        };
        let words: Vec<&str> = text.split_whitespace().collect();
        let [kind, number, "on", "channel", channel] = words.as_slice() else {
            return Err(NoSignal);
        };
        let number: u8 = number.parse().ok().filter(|number| *number < 128).ok_or(NoSignal)?;
        let channel: u8 =
            channel.parse().ok().filter(|channel| (1..=16).contains(channel)).ok_or(NoSignal)?;
        let channel = channel - 1;
        match (*kind, each_change) {
            ("control", each_change) => Ok(Self::Control { channel, number, each_change }),
            ("program", false) => Ok(Self::Program { channel, number }),
            ("note", false) => Ok(Self::Note { channel, number }),
            _ => Err(NoSignal),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read() {
        for text in [
            "control 64 on channel 1",
            "control 0 on channel 16, each change",
            "program 127 on channel 2",
            "note 36 on channel 10",
            "key b",
            "key page down",
        ] {
            assert_eq!(text.parse::<Signal>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn what_is_no_signal_is_refused() {
        for text in [
            "",
            "control",
            "control 128 on channel 1",
            "control 1 on channel 0",
            "control 1 on channel 17",
            "note 1 on channel 1, each change",
            "pedal 1 on channel 1",
            "key",
            "key bc",
        ] {
            assert_eq!(text.parse::<Signal>(), Err(NoSignal), "{text}");
        }
    }
}
