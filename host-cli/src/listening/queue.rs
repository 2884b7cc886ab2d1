//! What is over, until somebody asks for it: attempts and false starts, in the order in which they
//! were played.

use super::told::{FalseStart, Finished};
use std::collections::VecDeque;

/// What is to be told, in the order in which it was played.
#[derive(Default)]
pub(super) struct Queue<'a> {
    told: VecDeque<Told<'a>>,
    /// Those that are told before the next attempt.
    false_starts: VecDeque<FalseStart>,
    /// How many there were since the last attempt.
    since: u16,
}

enum Told<'a> {
    Attempt(Box<Finished<'a>>),
    FalseStart(FalseStart),
}

impl<'a> Queue<'a> {
    /// Attempts that are over.
    pub(super) fn attempt(&mut self, finished: impl IntoIterator<Item = Finished<'a>>) {
        self.told.extend(finished.into_iter().map(|finished| Told::Attempt(Box::new(finished))));
    }

    /// A false start that was found.
    pub(super) fn false_start(&mut self, start: FalseStart) {
        self.told.push_back(Told::FalseStart(start));
    }

    /// The next attempt; the false starts before it are then to be told first.
    pub(super) fn next_attempt(&mut self) -> Option<Finished<'a>> {
        loop {
            match self.told.pop_front()? {
                Told::Attempt(finished) => return Some(*finished),
                Told::FalseStart(start) => {
                    self.since = self.since.saturating_add(1);
                    self.false_starts.push_back(start);
                }
            }
        }
    }

    pub(super) fn next_false_start(&mut self) -> Option<FalseStart> {
        self.false_starts.pop_front()
    }

    /// How many false starts there were since this was asked last.
    pub(super) const fn false_starts_since(&mut self) -> u16 {
        std::mem::replace(&mut self.since, 0)
    }
}
