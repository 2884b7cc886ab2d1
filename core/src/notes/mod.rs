//! Messages to note events: which string, and where a note ends.

mod level;

pub use level::level_of;

use crate::units::{GuitarString, Pitch, Velocity};
use wmidi::{Channel, MidiMessage};

/// How the pickup spreads the strings over MIDI channels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Channels {
    /// The channel says nothing about the string.
    #[default]
    One,
    /// Consecutive channels, a string each; string 1 (the highest) is on this one, counted
    /// from 0 (common practice: MIDI 1.0 mode 4 leaves the order open).
    PerString {
        /// The channel of string 1, 0 to 15.
        first: u8,
    },
}

impl Channels {
    /// The string that a channel stands for, if it stands for one.
    pub const fn string(self, channel: u8) -> Option<GuitarString> {
        match self {
            Self::One => None,
            Self::PerString { first } => match channel.checked_sub(first) {
                Some(from_first) => GuitarString::new(from_first + 1),
                None => None,
            },
        }
    }
}

/// Something that a string did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum NoteEvent {
    /// A note began.
    Begun {
        /// Its sounding pitch.
        pitch: Pitch,
        /// How hard it was struck.
        velocity: Velocity,
        /// The string, where the channel tells.
        string: Option<GuitarString>,
    },
    /// A note ended.
    Ended {
        /// Its sounding pitch.
        pitch: Pitch,
        /// The string, where the channel tells.
        string: Option<GuitarString>,
    },
    /// Every note ended (MIDI's All Notes Off and All Sound Off).
    AllEnded,
}

/// What a message means for the notes; `None` for all that begins or ends none.
///
/// Where each string has its channel, notes on other channels are not the guitar's and are
/// passed over.
pub fn note_event(message: &MidiMessage<'_>, channels: Channels) -> Option<NoteEvent> {
    match *message {
        MidiMessage::NoteOn(channel, note, velocity) => {
            let string = string_of(channels, channel)?;
            let pitch = Pitch::from(note);
            Some(match Velocity::new(u8::from(velocity)) {
                Some(velocity) => NoteEvent::Begun { pitch, velocity, string },
                None => NoteEvent::Ended { pitch, string },
            })
        }
        MidiMessage::NoteOff(channel, note, _) => {
            let string = string_of(channels, channel)?;
            Some(NoteEvent::Ended { pitch: Pitch::from(note), string })
        }
        MidiMessage::ControlChange(_, control, _) if matches!(u8::from(control), 120 | 123) => {
            Some(NoteEvent::AllEnded)
        }
        MidiMessage::Reset => Some(NoteEvent::AllEnded),
        _ => None,
    }
}

/// The string of a channel: `Some(None)` where channels say nothing, `None` where the
/// channel belongs to no string.
fn string_of(channels: Channels, channel: Channel) -> Option<Option<GuitarString>> {
    match channels {
        Channels::One => Some(None),
        Channels::PerString { .. } => channels.string(channel.index()).map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wmidi::{ControlFunction, Note, U7};

    #[test]
    fn the_lowest_channel_is_the_highest_string() {
        let channels = Channels::PerString { first: 10 };
        assert_eq!(channels.string(10), GuitarString::new(1));
        assert_eq!(channels.string(15), GuitarString::new(6));
        assert_eq!(channels.string(9), None);
        assert_eq!(Channels::One.string(3), None);
    }

    #[test]
    fn a_note_on_another_channel_is_not_the_guitars() {
        let note = MidiMessage::NoteOn(Channel::Ch1, Note::E4, U7::from_u8_lossy(90));
        assert!(note_event(&note, Channels::PerString { first: 10 }).is_none());
        assert!(note_event(&note, Channels::PerString { first: 0 }).is_some());
    }

    #[test]
    fn velocity_zero_ends_a_note() {
        let note = MidiMessage::NoteOn(Channel::Ch1, Note::E4, U7::MIN);
        let ended = NoteEvent::Ended { pitch: Pitch::new(64).unwrap(), string: None };
        assert_eq!(note_event(&note, Channels::One), Some(ended));
    }

    #[test]
    fn all_notes_off_ends_all() {
        let off = MidiMessage::ControlChange(
            Channel::Ch1,
            ControlFunction(U7::from_u8_lossy(123)),
            U7::MIN,
        );
        assert_eq!(note_event(&off, Channels::One), Some(NoteEvent::AllEnded));
    }
}
