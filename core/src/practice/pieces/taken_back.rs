//! An attempt is taken back: the player says that it was right, and the pickup misheard it.

use super::Practice;
use super::ways::Variation;
use crate::practice::share::Share;
use crate::practice::staircase::Staircase;
use crate::practice::step::{Reason, Step};

/// What the last attempt may have changed, as it was before. One that was clean is nothing to take back,
/// and any other changes the current piece alone, never which piece that is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Before {
    index: usize,
    stairs: Staircase,
    share: Share,
    variation: Variation,
    unclear: u8,
}

impl<const PIECES: usize> Practice<PIECES> {
    /// An attempt at this piece comes that may be taken back.
    pub(super) fn remember(&mut self, index: usize) {
        self.before.clear();
        let (variation, unclear) = (self.variation, self.unclear);
        if let Some(entry) = self.entries.get(index) {
            let (stairs, share) = (entry.stairs, entry.share);
            self.before.put(Before { index, stairs, share, variation, unclear });
        }
    }

    /// Takes the last attempt back: the next is asked for as if it had not been played. What the hands
    /// have done stays done: the time until the next rest is as it was. `None`, and nothing is changed, if
    /// it was clean, has been taken back, or something else was asked for since.
    pub fn take_back(&mut self) -> Option<Step> {
        let Before { index, stairs, share, variation, unclear } = *self.before.get()?;
        self.before.clear();
        let entry = self.entries.get_mut(index)?;
        (entry.stairs, entry.share) = (stairs, share);
        (self.variation, self.unclear) = (variation, unclear);
        Some(self.step(Reason::TakenBack))
    }
}
