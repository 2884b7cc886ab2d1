//! Foot switches: which pedal or key means what.
//!
//! A switch is whatever was pressed when it was learnt: a controller, a program change or a note
//! of any MIDI pedal, or a key, since page turners are keyboards.

mod signal;

pub use signal::Signal;

use crate::screen::Key;
use wmidi::MidiMessage;

/// What a switch asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// The same once more; what is under way does not count.
    Again,
    /// Go on to the next chunk.
    Next,
    /// Go back to the chunk before.
    Back,
    /// Enough.
    Stop,
    /// The last attempt was right, the pickup misheard it.
    Misheard,
}

impl Action {
    /// All, in the order in which they are learnt.
    pub const ALL: [Self; 5] = [Self::Again, Self::Next, Self::Back, Self::Stop, Self::Misheard];

    /// Its word, in settings and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Again => "again",
            Self::Next => "next",
            Self::Back => "back",
            Self::Stop => "stop",
            Self::Misheard => "misheard",
        }
    }
}

/// The switches that have been learnt.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    known: Vec<(Action, Signal)>,
}

impl Switches {
    /// No switch.
    pub const fn none() -> Self {
        Self { known: Vec::new() }
    }

    /// From now on this signal asks for `action`, and for nothing else.
    pub fn learn(&mut self, action: Action, signal: Signal) {
        self.known.retain(|(other, known)| *other != action && *known != signal);
        self.known.push((action, signal));
    }

    /// What has been learnt.
    pub fn known(&self) -> impl Iterator<Item = (Action, Signal)> + '_ {
        self.known.iter().copied()
    }

    /// What a message asks for.
    pub fn heard(&self, message: &MidiMessage<'_>) -> Option<Action> {
        self.known.iter().find(|(_, signal)| signal.is_pressed_by(message)).map(|(a, _)| *a)
    }

    /// Whether a message is a switch's, pressed or let go, and no note of the guitar.
    pub fn own(&self, message: &MidiMessage<'_>) -> bool {
        self.known.iter().any(|(_, signal)| signal.owns(message))
    }

    /// What a key asks for.
    pub fn key(&self, key: Key) -> Option<Action> {
        let pressed = Signal::of_key(key)?;
        self.known.iter().find(|(_, signal)| *signal == pressed).map(|(action, _)| *action)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(bytes: &[u8]) -> MidiMessage<'_> {
        MidiMessage::try_from(bytes).unwrap()
    }

    fn pedals() -> Switches {
        let mut switches = Switches::none();
        for (action, text) in [
            (Action::Again, "control 64 on channel 1"),
            (Action::Next, "program 5 on channel 3"),
            (Action::Back, "note 36 on channel 10"),
            (Action::Stop, "control 65 on channel 1, each change"),
        ] {
            switches.learn(action, text.parse().unwrap());
        }
        switches
    }

    #[test]
    fn a_controller_is_pressed_from_the_middle_of_its_travel_on() {
        let switches = pedals();
        assert_eq!(switches.heard(&message(&[0xb0, 64, 127])), Some(Action::Again));
        assert_eq!(switches.heard(&message(&[0xb0, 64, 64])), Some(Action::Again));
        assert_eq!(switches.heard(&message(&[0xb0, 64, 63])), None);
        assert_eq!(switches.heard(&message(&[0xb1, 64, 127])), None, "another channel");
    }

    #[test]
    fn one_that_stays_down_is_pressed_each_time() {
        let switches = pedals();
        assert_eq!(switches.heard(&message(&[0xb0, 65, 0])), Some(Action::Stop));
        assert_eq!(switches.heard(&message(&[0xb0, 65, 127])), Some(Action::Stop));
    }

    #[test]
    fn programs_and_notes() {
        let switches = pedals();
        assert_eq!(switches.heard(&message(&[0xc2, 5])), Some(Action::Next));
        assert_eq!(switches.heard(&message(&[0xc2, 6])), None);
        assert_eq!(switches.heard(&message(&[0x99, 36, 90])), Some(Action::Back));
        assert_eq!(switches.heard(&message(&[0x99, 36, 0])), None, "let go");
        assert!(switches.own(&message(&[0x99, 36, 0])) && switches.own(&message(&[0x89, 36, 0])));
        assert!(!switches.own(&message(&[0x90, 36, 90])), "the guitar's");
    }

    #[test]
    fn a_signal_means_one_thing_and_an_action_has_one_signal() {
        let mut switches = pedals();
        switches.learn(Action::Next, "control 64 on channel 1".parse().unwrap());
        assert_eq!(switches.heard(&message(&[0xb0, 64, 127])), Some(Action::Next));
        assert_eq!(switches.heard(&message(&[0xc2, 5])), None);
        assert_eq!(switches.known().count(), 3);
    }

    #[test]
    fn keys() {
        let mut switches = Switches::none();
        switches.learn(Action::Next, "key page down".parse().unwrap());
        switches.learn(Action::Stop, "key b".parse().unwrap());
        assert_eq!(switches.key(Key::Named("page down")), Some(Action::Next));
        assert_eq!(switches.key(Key::Char('b')), Some(Action::Stop));
        assert_eq!(switches.key(Key::Char('c')), None);
        assert_eq!(switches.key(Key::Interrupt), None);
    }
}
