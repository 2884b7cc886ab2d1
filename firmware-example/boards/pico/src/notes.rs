//! The click as notes on the MIDI output: between the messages that go through, and nobody waits.

use evenhand_core::units::Instant;
use evenhand_pedal::click;
use evenhand_pedal::through::Click;
use heapless::Deque;

use crate::midi;

/// Messages that wait for the line: two notes' beginnings and ends.
const WAITING: usize = 4;

/// What is still to be sent.
pub struct Notes {
    waiting: Deque<Click, WAITING>,
    /// The note that sounds, whether it is strong, and when it ends.
    sounding: Option<(bool, Instant)>,
}

impl Notes {
    /// Nothing sounds.
    pub const fn new() -> Self {
        Self { waiting: Deque::new(), sounding: None }
    }

    /// A beat.
    pub fn begin(&mut self, strong: bool, at: Instant) {
        if let Some((before, _)) = self.sounding.take() {
            // What finds no room is left out: the line has not got on for two beats.
            let _ = self.waiting.push_back(click::end(before));
        }
        let _ = self.waiting.push_back(click::begin(strong));
        self.sounding = Some((strong, at.plus(click::HELD)));
    }

    /// Ends what has sounded long enough, and sends what waits if the line takes it.
    pub fn go_on(&mut self, now: Instant) {
        if let Some((strong, _)) = self.sounding.filter(|(_, end)| *end <= now) {
            self.sounding = None;
            let _ = self.waiting.push_back(click::end(strong));
        }
        if let Some(message) = self.waiting.front().copied()
            && midi::send(message)
        {
            self.waiting.pop_front();
        }
    }
}
