//! What became of a piece on a day: cold, at the first try, and warm, at its best.

use crate::log::Attempt;
use evenhand_core::practice::rules::{AT_TEMPO_PER_MILLE, FASTER_PER_MILLE};
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
            Outcome::Passed => faster(attempt).unwrap_or_else(|| clean_at(attempt)),
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

/// The tempo at which an attempt was clean, in whole beats a minute: the one it was asked for,
/// unless it was much slower.
pub(super) fn clean_at(attempt: &Attempt) -> u32 {
    let slowest = u64::from(attempt.practised) * u64::from(AT_TEMPO_PER_MILLE) / 1_000;
    match attempt.heard {
        Some(heard) if u64::from(heard) < slowest => heard / 100,
        _ => (attempt.practised + 50) / 100,
    }
}

/// The tempo of an attempt that was much faster than it was asked for, in whole beats a minute.
pub(super) fn faster(attempt: &Attempt) -> Option<u32> {
    let fastest = u64::from(attempt.practised) * u64::from(FASTER_PER_MILLE) / 1_000;
    attempt.heard.filter(|heard| u64::from(*heard) > fastest).map(|heard| heard / 100)
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
