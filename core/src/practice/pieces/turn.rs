//! Whose turn it is.

use super::Practice;
use super::entry::Entry;
use crate::practice::piece::Piece;
use crate::practice::rules::{IN_ROTATION, JOINS_IN_ROTATION};
use crate::practice::step::Reason;

impl<const PIECES: usize> Practice<PIECES> {
    /// The piece whose turn comes after `current`, and why, if there is a reason of its own: a
    /// new join or a piece that has not had its turn, while few are in rotation; else the one
    /// that has waited longest, `current` last. `None` if everything is at its goal.
    pub(super) fn next(&mut self, current: Option<usize>) -> Option<(usize, Option<Reason>)> {
        let joining = self.entries.iter().filter(|entry| {
            matches!(entry.piece, Piece::Join { .. } | Piece::Seam(_)) && self.is_in_rotation(entry)
        });
        if joining.count() < JOINS_IN_ROTATION
            && let Some((index, reason)) = self.join()
        {
            return Some((index, Some(reason)));
        }
        let in_rotation = self.entries.iter().filter(|entry| self.is_in_rotation(entry)).count();
        let waiting = self
            .entries
            .iter()
            .enumerate()
            .filter(|(index, entry)| Some(*index) != current && self.is_in_rotation(entry))
            .min_by_key(|(_, entry)| entry.turn)
            .map(|(index, _)| index);
        let fresh = self
            .entries
            .iter()
            .position(|entry| entry.turn == 0 && !entry.asleep && !self.is_outgrown(entry));
        let room = in_rotation < IN_ROTATION;
        if let Some(index) = fresh.filter(|_| room || waiting.is_none()) {
            return Some((index, None));
        }
        if let Some(index) = waiting {
            return Some((index, None));
        }
        let same = current.filter(|index| self.entries.get(*index).is_some_and(Entry::is_open));
        same.map(|index| (index, None))
    }

    fn is_in_rotation(&self, entry: &Entry) -> bool {
        entry.is_open() && !self.is_outgrown(entry)
    }

    /// Whether a longer piece that holds this one is clean at a tempo at least as fast: there is
    /// nothing left in it that the longer one does not ask for.
    fn is_outgrown(&self, entry: &Entry) -> bool {
        let fastest = entry.stairs.fastest_clean();
        self.entries.iter().any(|longer| {
            longer.piece.holds(entry.piece)
                && !longer.asleep
                && longer.passed
                && match (longer.stairs.fastest_clean(), fastest) {
                    (Some(longer), Some(own)) => !longer.is_slower_than(own),
                    (longer, None) => longer.is_some(),
                    (None, Some(_)) => false,
                }
        })
    }
}
