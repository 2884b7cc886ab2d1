//! How large a fault is.

use evenhand_core::units::{Level as Loudness, Offset};

/// How large a fault is. A plain size is never less than three times what the level allows, so
/// that each in a row is at least as large as the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Extent {
    /// So many times what the level allows.
    Times(u16),
    /// So many milliseconds.
    Millis(i32),
    /// So many per mille.
    PerMille(u16),
    /// So many hundredths of a decibel.
    Level(i16),
    /// So many semitones.
    Semitones(i8),
    /// Left out altogether.
    Whole,
}

/// What is a clear fault: three times what is allowed.
pub const CLEAR: u16 = 3;

impl Extent {
    /// Whether it is a clear fault.
    pub const fn is_clear(self) -> bool {
        !matches!(self, Self::Times(times) if times < CLEAR)
    }

    /// Its name in the table.
    pub fn name(self) -> String {
        match self {
            Self::Times(times) => format!("{times} x"),
            Self::Millis(millis) => format!("{millis} ms"),
            Self::PerMille(share) => format!("{} %", share / 10),
            Self::Level(level) => format!("{} dB", level / 100),
            Self::Semitones(semitones) => format!("{semitones} st"),
            Self::Whole => "whole".to_owned(),
        }
    }

    /// Of a limit in microseconds, hundredths of a decibel or per mille.
    fn of(self, limit: i32) -> i32 {
        let clear = limit.saturating_mul(i32::from(CLEAR));
        match self {
            Self::Times(times) => limit.saturating_mul(i32::from(times)),
            Self::Millis(millis) => clear.max(millis * 1_000),
            Self::PerMille(share) => clear.max(i32::from(share)),
            Self::Level(level) => clear.max(i32::from(level)),
            Self::Semitones(_) | Self::Whole => clear,
        }
    }

    /// As a time.
    pub fn time(self, limit: Offset) -> Offset {
        Offset::from_micros(self.of(limit.as_micros()))
    }

    /// As a level.
    pub fn level(self, limit: Loudness) -> Loudness {
        let level = self.of(i32::from(limit.hundredths()));
        Loudness::from_hundredths(i16::try_from(level).unwrap_or(i16::MAX))
    }

    /// As a share, in per mille.
    pub fn share(self, limit: u16) -> i16 {
        i16::try_from(self.of(i32::from(limit))).unwrap_or(i16::MAX)
    }
}
