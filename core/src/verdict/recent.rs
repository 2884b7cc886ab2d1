//! The last few of something, of which the newest can be taken back.
//!
//! What gives way to the newest is not dropped with it, only counts no more; it is dropped when another
//! comes. So taking back needs no copy.

use crate::measure::statistics::MOST_ATTEMPTS;
use heapless::Deque;

/// The last of them, [`MOST_ATTEMPTS`] at most.
#[derive(Clone, Debug)]
pub(super) struct Recent<T> {
    kept: Deque<T, { MOST_ATTEMPTS as usize + 1 }>,
    /// So many of them, the oldest, count no more.
    gone: u8,
}

impl<T> Default for Recent<T> {
    fn default() -> Self {
        Self::new()
    }
}

impl<T> Recent<T> {
    pub(super) const fn new() -> Self {
        Self { kept: Deque::new(), gone: 0 }
    }

    /// Those that count, the oldest first.
    pub(super) fn iter(&self) -> impl DoubleEndedIterator<Item = &T> {
        self.kept.iter().skip(self.gone.into())
    }

    /// How many count.
    pub(super) fn len(&self) -> usize {
        self.kept.len().saturating_sub(self.gone.into())
    }

    /// The newest.
    pub(super) fn last(&self) -> Option<&T> {
        self.iter().next_back()
    }

    /// Drops what counts no more: nothing is taken back from here on.
    pub(super) fn settle(&mut self) {
        for _ in 0..self.gone {
            self.kept.pop_front();
        }
        self.gone = 0;
    }

    /// None counts any more.
    pub(super) fn leave(&mut self) {
        self.gone = self.kept.len() as u8;
    }

    /// Takes one, in place of the oldest if there are as many as count. At most once between two calls
    /// of [`settle`](Self::settle).
    pub(super) fn push(&mut self, one: T) {
        if self.len() >= usize::from(MOST_ATTEMPTS) {
            self.gone = self.gone.saturating_add(1);
        }
        let _ = self.kept.push_back(one);
    }

    /// As it was when it was last settled; the newest was taken since, or was not.
    pub(super) fn take_back(&mut self, was_taken: bool) {
        if was_taken {
            self.kept.pop_back();
        }
        self.gone = 0;
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::vec::Vec;

    #[test]
    fn the_newest_is_taken_back_whatever_it_replaced() {
        // Whether the others are left first, for each number of them.
        for (count, leaves) in (0..10).flat_map(|count| [(count, false), (count, true)]) {
            let mut recent = Recent::new();
            for one in 0..count {
                recent.settle();
                recent.push(one);
            }
            let before: Vec<u32> = recent.iter().copied().collect();
            assert_eq!(before.len(), (count as usize).min(MOST_ATTEMPTS.into()));
            recent.settle();
            if leaves {
                recent.leave();
                assert_eq!((recent.len(), recent.last()), (0, None));
            }
            recent.push(99);
            assert_eq!(recent.last(), Some(&99));
            assert_eq!(recent.len(), if leaves { 1 } else { (before.len() + 1).min(6) });
            recent.take_back(true);
            assert!(recent.iter().eq(&before), "{before:?}");
        }
    }
}
