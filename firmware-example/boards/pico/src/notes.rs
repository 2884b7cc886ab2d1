//! The click as notes on the MIDI output: bytes go when the line is free, and nobody waits.

use evenhand_core::units::Instant;
use evenhand_pedal::click;
use heapless::Deque;

use crate::midi;

/// Bytes that wait for the line: two notes' beginnings and ends.
const WAITING: usize = 12;

/// What is still to be sent.
pub struct Notes {
    waiting: Deque<u8, WAITING>,
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
            self.put(click::end(before));
        }
        self.put(click::begin(strong));
        self.sounding = Some((strong, at.plus(click::HELD)));
    }

    /// Ends what has sounded long enough, and sends a byte if there is one and the line is free.
    pub fn go_on(&mut self, now: Instant) {
        if let Some((strong, _)) = self.sounding.filter(|(_, end)| *end <= now) {
            self.sounding = None;
            self.put(click::end(strong));
        }
        if let Some(byte) = self.waiting.front().copied()
            && midi::send(byte)
        {
            self.waiting.pop_front();
        }
    }

    /// A message as a whole, or nothing of it.
    fn put(&mut self, message: [u8; 3]) {
        if self.waiting.len() + message.len() > WAITING {
            return;
        }
        for byte in message {
            let _ = self.waiting.push_back(byte);
        }
    }
}
