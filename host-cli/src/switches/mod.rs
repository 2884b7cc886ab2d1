//! Foot switches: which pedal or key means what.
//!
//! A switch is whatever was pressed when it was learnt: a controller, a program change or a note
//! of any MIDI pedal, or a key, since page turners are keyboards.

mod call;
mod signal;
mod taps;
mod two;
mod ways;

pub use call::{Call, Figure, LENGTHS, NoFigure};
pub use signal::Signal;
pub use two::TwoSwitches;
pub use ways::{What, ways_of_feet, ways_of_keys, ways_of_strings};

use crate::screen::Key;
use call::Heard;
use evenhand_core::feet::{Gesture, Steps, asked, offered};
use evenhand_core::practice::{Choice, Choices, Press};
use evenhand_core::units::{Instant, Pitch};
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
    /// It hurts.
    Hurts,
    /// One of what can be chosen.
    Choose(Choice),
    /// The last attempt's reason and what comes next, aloud.
    Say,
    /// What can be chosen?
    Choices,
    /// The same, asked with the guitar: what was played to ask it is no attempt.
    Call,
}

impl Action {
    /// Those that can have a switch of their own, in the order in which they are learnt.
    pub const LEARNT: [Self; 5] = [Self::Again, Self::Next, Self::Back, Self::Stop, Self::Misheard];

    /// Its word, in settings and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Again => "again",
            Self::Next => "next",
            Self::Back => "back",
            Self::Stop => "stop",
            Self::Misheard => "misheard",
            Self::Hurts => "hurts",
            Self::Choose(_) => "choose",
            Self::Say => "say",
            Self::Choices => "choices",
            Self::Call => "call",
        }
    }

    /// What a foot asks for, where nothing is offered.
    const fn of(press: Press) -> Option<Self> {
        Some(match press {
            Press::Again => Self::Again,
            Press::Next => Self::Next,
            Press::Back => Self::Back,
            Press::Choose(Choice::Stop) => Self::Stop,
            Press::Choose(choice) => Self::Choose(choice),
            Press::Misheard => Self::Misheard,
            Press::Hurts => Self::Hurts,
            Press::Slower | Press::Faster => return None,
        })
    }
}

/// What was said with a switch or with the guitar. What it asks for depends on what is offered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// A switch that means one thing.
    One(Action),
    /// Two switches.
    Feet(Gesture),
    /// The guitar's figure.
    Call,
    /// An open string, 1 to 6, after it.
    String(u8),
}

impl Said {
    /// What it asks for, if anything.
    pub fn action(self, choices: Choices) -> Option<Action> {
        match self {
            Self::One(action) => Some(action),
            Self::Call => Some(Action::Call),
            Self::Feet(gesture) => match offered(gesture, choices) {
                Some(choice) => Some(Action::Choose(choice)),
                None if gesture == Gesture::Right(Steps::Held) => Some(Action::Choices),
                None if gesture == Gesture::Right(Steps::Twice) => Some(Action::Say),
                None => Action::of(asked(gesture)?),
            },
            Self::String(string) => match ways::of_string(string, choices)? {
                What::Choice(choice) => Some(Action::Choose(choice)),
                What::Press(press) => Action::of(press),
            },
        }
    }
}

/// The switches that have been learnt, and what they are in the middle of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    known: Vec<(Action, Signal)>,
    two: Option<TwoSwitches>,
    call: Option<Call>,
}

impl Switches {
    /// No switch.
    pub const fn none() -> Self {
        Self { known: Vec::new(), two: None, call: None }
    }

    /// From now on this signal asks for `action`, and for nothing else.
    pub fn learn(&mut self, action: Action, signal: Signal) {
        self.known.retain(|(other, known)| *other != action && *known != signal);
        self.known.push((action, signal));
    }

    /// From now on there are these two, for everything.
    pub fn learn_two(&mut self, two: TwoSwitches) {
        let [left, right] = two.signals();
        self.known.retain(|(_, known)| *known != left && *known != right);
        self.two = Some(two);
    }

    /// From now on this figure asks what can be chosen; or none does.
    pub fn learn_call(&mut self, figure: Option<Figure>) {
        self.call = figure.map(Call::new);
    }

    /// What has been learnt of switches that mean one thing.
    pub fn known(&self) -> impl Iterator<Item = (Action, Signal)> + '_ {
        self.known.iter().copied()
    }

    /// The two, if they have been learnt.
    pub const fn two(&self) -> Option<&TwoSwitches> {
        self.two.as_ref()
    }

    /// The figure that asks what can be chosen, if one has been learnt.
    pub fn figure(&self) -> Option<&Figure> {
        self.call.as_ref().map(Call::figure)
    }

    /// Whether a choice can be made without a key: there is time for it then.
    pub const fn can_choose(&self) -> bool {
        self.two.is_some() || self.call.is_some()
    }

    /// What a message of the guitar's own stream says, and whether it is no music.
    pub fn hear(&mut self, message: &MidiMessage<'_>, at: Instant) -> (Option<Said>, bool) {
        if self.owns(message) {
            return (self.press(message, at), true);
        }
        let (Some(call), MidiMessage::NoteOn(_, note, velocity)) = (&mut self.call, message) else {
            return (None, false);
        };
        let Some(pitch) = Pitch::new(u8::from(*note)).filter(|_| u8::from(*velocity) > 0) else {
            return (None, false);
        };
        match call.hear(pitch, at) {
            Heard::Music => (None, false),
            Heard::String(string) => (Some(Said::String(string)), true),
        }
    }

    /// What a message of a foot switch says.
    pub fn press(&mut self, message: &MidiMessage<'_>, at: Instant) -> Option<Said> {
        let one = self.known.iter().find(|(_, signal)| signal.is_pressed_by(message));
        if let Some((action, _)) = one {
            return Some(Said::One(*action));
        }
        self.two.as_mut()?.hear(message, at).map(Said::Feet)
    }

    /// What has been said by nothing more coming.
    pub fn poll(&mut self, now: Instant) -> Option<Said> {
        let feet = self.two.as_mut().and_then(|two| two.poll(now)).map(Said::Feet);
        let called = || self.call.as_mut().is_some_and(|call| call.poll(now)).then_some(Said::Call);
        feet.or_else(called)
    }

    /// When to ask.
    pub fn poll_at(&self) -> Option<Instant> {
        let two = self.two.as_ref().and_then(TwoSwitches::poll_at);
        let call = self.call.as_ref().and_then(Call::poll_at);
        [two, call].into_iter().flatten().min()
    }

    /// Whether a message is a switch's, pressed or let go, and no note of the guitar.
    fn owns(&self, message: &MidiMessage<'_>) -> bool {
        self.known.iter().any(|(_, signal)| signal.owns(message))
            || self.two.as_ref().is_some_and(|two| two.owns(message))
    }

    /// Whether a key is one of the switches.
    pub fn has_key(&self, key: Key) -> bool {
        let is_its = |pressed| {
            self.known.iter().any(|(_, signal)| *signal == pressed)
                || self.two.as_ref().is_some_and(|two| two.is(pressed))
        };
        Signal::of_key(key).is_some_and(is_its)
    }

    /// What a key says.
    pub fn key(&mut self, key: Key, at: Instant) -> Option<Said> {
        let pressed = Signal::of_key(key)?;
        if let Some((action, _)) = self.known.iter().find(|(_, signal)| *signal == pressed) {
            return Some(Said::One(*action));
        }
        self.two.as_mut()?.press(pressed, at).map(Said::Feet)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(bytes: &[u8]) -> MidiMessage<'_> {
        MidiMessage::try_from(bytes).unwrap()
    }

    fn heard(switches: &mut Switches, bytes: &[u8]) -> Option<Action> {
        let said = switches.press(&message(bytes), Instant::ZERO)?;
        said.action(Choices::NONE)
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
        let mut switches = pedals();
        assert_eq!(heard(&mut switches, &[0xb0, 64, 127]), Some(Action::Again));
        assert_eq!(heard(&mut switches, &[0xb0, 64, 64]), Some(Action::Again));
        assert_eq!(heard(&mut switches, &[0xb0, 64, 63]), None);
        assert_eq!(heard(&mut switches, &[0xb1, 64, 127]), None, "another channel");
    }

    #[test]
    fn one_that_stays_down_is_pressed_each_time() {
        let mut switches = pedals();
        assert_eq!(heard(&mut switches, &[0xb0, 65, 0]), Some(Action::Stop));
        assert_eq!(heard(&mut switches, &[0xb0, 65, 127]), Some(Action::Stop));
    }

    #[test]
    fn programs_and_notes() {
        let mut switches = pedals();
        assert_eq!(heard(&mut switches, &[0xc2, 5]), Some(Action::Next));
        assert_eq!(heard(&mut switches, &[0xc2, 6]), None);
        assert_eq!(heard(&mut switches, &[0x99, 36, 90]), Some(Action::Back));
        assert_eq!(heard(&mut switches, &[0x99, 36, 0]), None, "let go");
        assert!(switches.owns(&message(&[0x99, 36, 0])) && switches.owns(&message(&[0x89, 36, 0])));
        assert!(!switches.owns(&message(&[0x90, 36, 90])), "the guitar's");
    }

    #[test]
    fn a_signal_means_one_thing_and_an_action_has_one_signal() {
        let mut switches = pedals();
        switches.learn(Action::Next, "control 64 on channel 1".parse().unwrap());
        assert_eq!(heard(&mut switches, &[0xb0, 64, 127]), Some(Action::Next));
        assert_eq!(heard(&mut switches, &[0xc2, 5]), None);
        assert_eq!(switches.known().count(), 3);
    }

    fn key(switches: &mut Switches, key: Key) -> Option<Action> {
        switches.key(key, Instant::ZERO)?.action(Choices::NONE)
    }

    #[test]
    fn keys() {
        let mut switches = Switches::none();
        switches.learn(Action::Next, "key page down".parse().unwrap());
        switches.learn(Action::Stop, "key b".parse().unwrap());
        assert_eq!(key(&mut switches, Key::Named("page down")), Some(Action::Next));
        assert_eq!(key(&mut switches, Key::Char('b')), Some(Action::Stop));
        assert_eq!(key(&mut switches, Key::Char('c')), None);
        assert_eq!(key(&mut switches, Key::Interrupt), None);
    }

    #[test]
    fn two_switches_say_what_is_offered_and_else_what_they_always_say() {
        let mut switches = pedals();
        let signals = ["control 64 on channel 1", "control 66 on channel 1"];
        let signals = signals.map(|text| text.parse().unwrap());
        switches.learn_two(TwoSwitches::new(signals, true));
        assert_eq!(switches.known().count(), 3, "what was one of them is none any more");
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        let mut step = |number: u8, down: u64, up: u64| {
            let mut said = Vec::new();
            for now in down..up + 1_000 {
                let value = match now {
                    now if now == down => Some(127),
                    now if now == up => Some(0),
                    _ => None,
                };
                let sent = value.map(|value| [0xb0, number, value]);
                said.extend(sent.and_then(|sent| switches.press(&message(&sent), at(now))));
                said.extend(switches.poll(at(now)));
            }
            assert_eq!(said.len(), 1, "{said:?}");
            said.remove(0)
        };
        let offered = Choices::NONE.with(Choice::Shorter, true);
        let once = step(64, 1_000, 1_200);
        assert_eq!(once.action(Choices::NONE), Some(Action::Again));
        assert_eq!(once.action(offered), Some(Action::Choose(Choice::Shorter)));
        let once = step(66, 5_000, 5_001);
        assert_eq!(once.action(offered), Some(Action::Next), "no rhythm is offered");
        assert_eq!(step(64, 8_000, 9_000).action(offered), Some(Action::Stop));
        assert_eq!(step(66, 20_000, 21_000).action(offered), Some(Action::Choices));
        let twice = Said::Feet(Gesture::Right(Steps::Twice));
        assert_eq!(twice.action(offered), Some(Action::Say));
        assert_eq!(
            twice.action(offered.with(Choice::Burst, true)),
            Some(Action::Choose(Choice::Burst))
        );
    }

    #[test]
    fn a_string_after_the_call_is_no_music() {
        let mut switches = Switches::none();
        switches.learn_call(Some(Figure::proposed()));
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        for (millis, note) in [(3_000, 40), (3_300, 64), (3_600, 40), (3_900, 64)] {
            let heard = switches.hear(&message(&[0x90, note, 90]), at(millis));
            assert_eq!(heard, (None, false), "it may be music until it is over");
        }
        assert_eq!(switches.poll(at(4_000)), None);
        assert_eq!(switches.poll(at(4_500)), Some(Said::Call));
        let (said, own) = switches.hear(&message(&[0x90, 40, 90]), at(6_000));
        assert!(own);
        assert_eq!(said.and_then(|said| said.action(Choices::NONE)), Some(Action::Hurts));
        assert_eq!(switches.hear(&message(&[0x90, 40, 90]), at(7_000)), (None, false));
    }
}
