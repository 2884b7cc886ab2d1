//! What became of a piece on a day: cold, at the first try, and warm, at its best.

use crate::log::Attempt;
use evenhand_core::practice::KeptAttempt;
use evenhand_core::verdict::Outcome;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// A piece on a day. Tempi are in whole beats a minute.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DayPlayed {
    /// The first try of the day that could be settled: what was there before anything was repeated.
    pub cold: Option<ColdTry>,
    /// The fastest tempo of the attempts that passed.
    pub best: Option<u32>,
    /// How many attempts there were.
    pub attempts: u32,
}

/// The first try of a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColdTry {
    /// Its tempo.
    pub tempo: u32,
    /// Whether it passed.
    pub passed: bool,
}

impl DayPlayed {
    /// Takes the next attempt of the day.
    pub(super) fn take(&mut self, attempt: &Attempt) {
        self.attempts = self.attempts.saturating_add(1);
        let tempo = match attempt.verdict {
            Outcome::Unclear => return,
            Outcome::NeedsWork => (attempt.practised + 50) / 100,
            Outcome::Passed => {
                let kept = kept(attempt);
                kept.faster().unwrap_or_else(|| kept.clean_at())
            }
        };
        let passed = attempt.verdict == Outcome::Passed;
        self.cold.get_or_insert(ColdTry { tempo, passed });
        if passed {
            self.best = self.best.max(Some(tempo));
        }
    }

    /// Whether the first try passed.
    pub fn passed_cold(&self) -> bool {
        self.cold.is_some_and(|cold| cold.passed)
    }
}

/// The attempt as practice counts it.
pub(super) const fn kept(attempt: &Attempt) -> KeptAttempt {
    KeptAttempt { outcome: attempt.verdict, asked: attempt.practised, heard: attempt.heard }
}

/// The day that it is where this computer is.
pub(crate) fn today() -> Date {
    day_of(Timestamp::now())
}

/// The day that a time is on where this computer is.
pub(crate) fn day_of(time: Timestamp) -> Date {
    TimeZone::system().to_datetime(time).date()
}

/// How many days lie between two; negative if the second is the earlier one.
pub(super) fn days_between(from: Date, to: Date) -> i32 {
    to.since(from).map_or(0, |span| span.get_days())
}
