//! An attempt is taken back: the player says that it was right, and the pickup misheard it.

use super::Practice;
use super::entry::Entry;
use super::ways::Variation;
use crate::practice::event_results::EventResults;
use crate::practice::step::{Reason, Step};

/// What the last attempt may have changed, as it was before. One that was clean is nothing to take back,
/// and any other changes the current piece, or leads to fewer notes of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Before {
    index: usize,
    entry: Entry,
    variation: Variation,
    unclear: u8,
    broken_off: u8,
}

impl<const PIECES: usize> Practice<PIECES> {
    /// An attempt at this piece comes that may be taken back.
    pub(super) fn remember(&mut self, index: usize) {
        self.before.clear();
        let (variation, unclear, broken_off) = (self.variation, self.unclear, self.broken_off);
        if let Some(entry) = self.entries.get(index) {
            let entry = *entry;
            self.before.put(Before { index, entry, variation, unclear, broken_off });
        }
    }

    /// Takes the last attempt back: the next is asked for as if it had not been played. What the hands
    /// have done stays done: the time until the next rest is as it was. `None`, and nothing is changed, if
    /// it was clean, has been taken back, or something else was asked for since.
    pub fn take_back(&mut self) -> Option<Step> {
        let before = *self.before.get()?;
        self.before.clear();
        // It may have led to fewer notes of the piece.
        if let Some(other) = self.current.filter(|current| *current != before.index)
            && let Some(entry) = self.entries.get_mut(other)
        {
            entry.asleep = true;
        }
        *self.entries.get_mut(before.index)? = before.entry;
        self.current = Some(before.index);
        (self.variation, self.unclear) = (before.variation, before.unclear);
        self.broken_off = before.broken_off;
        self.record.take_back(&self.last);
        self.misread.take_back(&self.last);
        self.last = EventResults::NONE;
        Some(self.step(Reason::TakenBack))
    }
}
