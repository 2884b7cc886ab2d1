//! At which tempo a piece was clean often enough in a row, from attempts that were kept.

use super::rules::{AT_TEMPO_PER_MILLE, FASTER_PER_MILLE};
use crate::verdict::Outcome;

/// An attempt that was kept. Tempi are in hundredths of beats a minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeptAttempt {
    /// The verdict.
    pub outcome: Outcome,
    /// The tempo that was asked for.
    pub asked: u32,
    /// The tempo at which it was played, where that was heard.
    pub heard: Option<u32>,
}

impl KeptAttempt {
    /// The tempo at which it was clean, if it was, in whole beats a minute: the one it was asked for, unless it
    /// was much slower.
    pub const fn clean_at(&self) -> u32 {
        let slowest = self.asked as u64 * AT_TEMPO_PER_MILLE as u64 / 1_000;
        match self.heard {
            Some(heard) if (heard as u64) < slowest => heard / 100,
            _ => self.asked.saturating_add(50) / 100,
        }
    }

    /// Its tempo if it was much faster than it was asked for, in whole beats a minute.
    pub const fn faster(&self) -> Option<u32> {
        let fastest = self.asked as u64 * FASTER_PER_MILLE as u64 / 1_000;
        match self.heard {
            Some(heard) if heard as u64 > fastest => Some(heard / 100),
            _ => None,
        }
    }
}

/// The attempts at one piece, one after the other; whatever else was played in between. What is known from
/// earlier days is found by it on a computer and on a pedal.
///
/// ```
/// use evenhand_core::practice::{CleanRow, KeptAttempt};
/// use evenhand_core::verdict::Outcome;
///
/// let mut row = CleanRow::new();
/// let passed = KeptAttempt { outcome: Outcome::Passed, asked: 6_000, heard: None };
/// assert_eq!(row.take(&passed, 2), None);
/// assert_eq!(row.take(&KeptAttempt { outcome: Outcome::Unclear, ..passed }, 2), None);
/// assert_eq!(row.take(&passed, 2), Some(60));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CleanRow {
    /// Its tempo, and how many it has; 0 where it has to begin.
    tempo: u16,
    clean: u8,
    /// The tempo of the attempt before, if it was clean and much faster than it was asked for; 0 else.
    shown: u16,
}

impl CleanRow {
    /// Nothing was played.
    pub const fn new() -> Self {
        Self { tempo: 0, clean: 0, shown: 0 }
    }

    /// Takes the next attempt. Gives the tempo, in whole beats a minute, at which the piece has by it been clean
    /// `in_a_row` times in a row, or twice in a row faster than it was asked for, as in practice. What is unclear
    /// neither advances nor sets back the row. Tempi beyond 65,535 count as that.
    pub fn take(&mut self, attempt: &KeptAttempt, in_a_row: u8) -> Option<u32> {
        let shown = core::mem::take(&mut self.shown);
        match attempt.outcome {
            Outcome::Unclear => return None,
            Outcome::NeedsWork => {
                self.clean = 0;
                return None;
            }
            Outcome::Passed => {}
        }
        let narrow = |beats: u32| u16::try_from(beats).unwrap_or(u16::MAX);
        let beats = narrow(attempt.clean_at());
        let before = if self.tempo == beats { self.clean } else { 0 };
        (self.tempo, self.clean) = (beats, before.saturating_add(1));
        let mut clean_at = (self.clean >= in_a_row).then_some(beats);
        if let Some(faster) = attempt.faster().map(narrow) {
            if shown > 0 {
                clean_at = clean_at.max(Some(faster.min(shown)));
            }
            self.shown = faster;
        }
        clean_at.map(u32::from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Outcome::{NeedsWork, Passed, Unclear};

    fn of(outcome: Outcome, asked: u32, heard: Option<u32>) -> KeptAttempt {
        let hundred = |beats: u32| beats * 100;
        KeptAttempt { outcome, asked: hundred(asked), heard: heard.map(hundred) }
    }

    fn last(attempts: &[KeptAttempt]) -> Option<u32> {
        let mut row = CleanRow::new();
        attempts.iter().map(|attempt| row.take(attempt, 2)).last().flatten()
    }

    #[test]
    fn a_row_is_of_one_tempo_and_without_a_failure() {
        let at = |beats| of(Passed, beats, None);
        assert_eq!(last(&[at(60), at(60)]), Some(60));
        assert_eq!(last(&[at(60), of(Unclear, 60, None), at(60)]), Some(60));
        assert_eq!(last(&[at(60), of(NeedsWork, 60, None), at(60)]), None);
        assert_eq!(last(&[at(60), at(62)]), None);
        assert_eq!(last(&[at(60)]), None);
    }

    #[test]
    fn what_was_much_slower_counts_at_its_own_tempo() {
        assert_eq!(last(&[of(Passed, 62, None), of(Passed, 74, Some(62))]), Some(62));
        assert_eq!(last(&[of(Passed, 74, Some(70)), of(Passed, 74, None)]), Some(74));
    }

    #[test]
    fn twice_in_a_row_much_faster_is_enough_at_the_slower_of_both() {
        let (one, other) = (of(Passed, 60, Some(91)), of(Passed, 60, Some(88)));
        assert_eq!(last(&[one, other]), Some(88));
        assert_eq!(last(&[one, of(Passed, 60, None)]), Some(60));
        assert_eq!(last(&[one, of(Unclear, 60, None), other]), Some(60));
    }

    #[test]
    fn no_number_is_too_large() {
        let most = KeptAttempt { outcome: Passed, asked: u32::MAX, heard: Some(u32::MAX) };
        let mut row = CleanRow::new();
        assert_eq!(row.take(&most, u8::MAX), None);
        assert_eq!(row.take(&most, 1), Some(65_535));
    }
}
