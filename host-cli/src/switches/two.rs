//! Two switches, left and right, for everything that can be asked for: each once, twice or held, and both.

use super::signal::Signal;
use super::taps::Taps;
use evenhand_core::feet::{Gesture, Pair};
use evenhand_core::units::Instant;
use wmidi::MidiMessage;

/// Two switches, and what they are in the middle of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwoSwitches {
    signals: [Signal; 2],
    /// They say when they are let go, so that they can be held.
    can_hold: bool,
    feet: Pair,
    closed: [bool; 2],
    taps: Taps,
}

impl TwoSwitches {
    /// The left one and the right one. Those that are not `can_hold` are pressed three times where others
    /// are held, and both twice.
    pub const fn new(signals: [Signal; 2], can_hold: bool) -> Self {
        let mut feet = Pair::clean();
        feet.hear_twice(true);
        let taps = Taps::NONE;
        Self { signals, can_hold, feet, closed: [false; 2], taps }
    }

    /// What presses them.
    pub const fn signals(&self) -> [Signal; 2] {
        self.signals
    }

    /// Whether they can be held.
    pub const fn can_hold(&self) -> bool {
        self.can_hold
    }

    pub(super) fn owns(&self, message: &MidiMessage<'_>) -> bool {
        self.signals.iter().any(|signal| signal.owns(message))
    }

    pub(super) fn hear(&mut self, message: &MidiMessage<'_>, at: Instant) -> Option<Gesture> {
        let side = self.signals.iter().position(|signal| signal.owns(message))?;
        let is_pressed = self.signals.get(side)?.is_pressed_by(message);
        if self.can_hold {
            *self.closed.get_mut(side)? = is_pressed;
            return self.feet.sample(self.closed, at);
        }
        if is_pressed { self.taps.press(side, at) } else { None }
    }

    pub(super) fn press(&mut self, pressed: Signal, at: Instant) -> Option<Gesture> {
        let side = self.signals.iter().position(|signal| *signal == pressed)?;
        self.taps.press(side, at)
    }

    pub(super) fn is(&self, pressed: Signal) -> bool {
        self.signals.contains(&pressed)
    }

    pub(super) fn poll(&mut self, now: Instant) -> Option<Gesture> {
        let held = if self.can_hold { self.feet.sample(self.closed, now) } else { None };
        held.or_else(|| self.taps.poll(now))
    }

    pub(super) fn poll_at(&self) -> Option<Instant> {
        [self.feet.poll_at(), self.taps.poll_at()].into_iter().flatten().min()
    }
}
