//! How well the pickup is heard, by what is told of notes as they arrive.

use super::{Onset, PlayedNote};

/// How much of what a pickup sends is noise: told on arrival, whatever was to be played.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hearing {
    notes: u16,
    noise: u16,
}

/// Of so few notes nothing is said, and from twice as many on older ones count half. Our default.
const ENOUGH_HEARD: u16 = 32;

/// A pickup of which more than this is noise, in per cent, cannot be judged by. Our default: a free
/// pitch tracker sent 13 at a middling setting, and 50 at one that nobody would keep.
const MOST_NOISE: u32 = 25;

impl Hearing {
    pub(super) const NONE: Self = Self { notes: 0, noise: 0 };

    pub(super) fn count(&mut self, note: &PlayedNote) {
        if note.is_bent() {
            return;
        }
        if self.notes >= 2 * ENOUGH_HEARD {
            (self.notes, self.noise) = (self.notes / 2, self.noise / 2);
        }
        self.notes += 1;
        self.noise += u16::from(note.onset != Onset::Struck);
    }

    /// One of those that were counted turns out to be noise.
    pub(super) fn count_late(&mut self) {
        self.noise = self.noise.saturating_add(1).min(self.notes);
    }

    /// Whether so much of it is noise that nothing can be judged by it.
    pub(crate) const fn is_poor(&self) -> bool {
        self.notes >= ENOUGH_HEARD && self.noise as u32 * 100 > self.notes as u32 * MOST_NOISE
    }
}
