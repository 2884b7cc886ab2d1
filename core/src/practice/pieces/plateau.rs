//! A piece that brings no faster clean tempo any more is changed.

use super::Practice;
use crate::practice::piece::Earlier;
use crate::practice::rules::{PLATEAU_AFTER, PLATEAU_AFTER_BETTER};
use crate::practice::step::{Choice, PracticeVariant, Reason, Step, Task};
use crate::units::Seconds;

/// The changes take turns in this order, where they are possible; `None` is to leave the piece for another.
/// A fingering is a decision of its own, which is offered and never made for the player.
const CHANGES: [Option<Choice>; 5] =
    [Some(Choice::Rhythm), Some(Choice::Shorter), Some(Choice::Burst), Some(Choice::Accents), None];

impl<const PIECES: usize> Practice<PIECES> {
    /// Counts attempts without a new best, and changes something after [`PLATEAU_AFTER`] of them. `asked`
    /// is what was played. What could not be settled is not to be given here.
    pub(super) fn change(&mut self, index: usize, asked: Task, now: Seconds) -> Option<Step> {
        if self.current != Some(index) || self.is_over() || asked.way != PracticeVariant::AsWritten
        {
            return None;
        }
        let entry = self.entries.get_mut(index)?;
        if entry.earlier == Earlier::Improving {
            return None;
        }
        entry.since_best = entry.since_best.saturating_add(1);
        // What was clean has something to go on with.
        let after = if entry.is_better { PLATEAU_AFTER_BETTER } else { PLATEAU_AFTER };
        if entry.since_best < after || entry.stairs.run() > 0 {
            return None;
        }
        let attempts = entry.since_best;
        entry.since_best = 0;
        let first = usize::from(entry.changes);
        let turns = CHANGES.iter().cycle().skip(first % CHANGES.len()).take(CHANGES.len());
        let possible = self.choices();
        for (skipped, change) in (1..).zip(turns) {
            if let Some(entry) = self.entries.get_mut(index) {
                entry.changes = (first as u8).wrapping_add(skipped) % CHANGES.len() as u8;
            }
            let Some(change) = *change else {
                let (next, reason) = self.next(Some(index)).filter(|(next, _)| *next != index)?;
                let after = asked.piece;
                return Some(self.take(next, now, Some(reason.unwrap_or(Reason::Turn { after }))));
            };
            if !possible.has(change) {
                continue;
            }
            let before = self.before.clone();
            let step = self.choose(change, now).ok()?;
            self.before = before;
            let offer = self.choices();
            return Some(Step { reason: Reason::Plateau { attempts, change }, offer, ..step });
        }
        None
    }
}
