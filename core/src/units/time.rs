//! Times, written lengths and tempi.

use core::fmt;
use core::num::NonZeroU32;

/// A point in time, in microseconds since any fixed start that the caller chose.
///
/// The core never reads a clock; whoever feeds it says what time it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Instant(u64);

impl Instant {
    /// The start of the caller's clock.
    pub const ZERO: Self = Self(0);

    /// An instant `micros` microseconds after the start of the caller's clock.
    pub const fn from_micros(micros: u64) -> Self {
        Self(micros)
    }

    /// Microseconds since the start of the caller's clock.
    pub const fn as_micros(self) -> u64 {
        self.0
    }

    /// The signed distance from `earlier` to `self`: negative if `self` comes first.
    /// Distances beyond 35 minutes are held at the ends of [`Offset`].
    pub const fn since(self, earlier: Self) -> Offset {
        let (distance, negative) = if self.0 >= earlier.0 {
            (self.0 - earlier.0, false)
        } else {
            (earlier.0 - self.0, true)
        };
        if distance > i32::MAX as u64 {
            return Offset(if negative { i32::MIN } else { i32::MAX });
        }
        Offset(if negative { -(distance as i32) } else { distance as i32 })
    }

    /// The instant `offset` later (earlier, if negative), held at the ends of the clock.
    pub const fn plus(self, offset: Offset) -> Self {
        Self(self.0.saturating_add_signed(offset.0 as i64))
    }
}

/// A signed distance in time, in microseconds. Early is negative, late is positive.
///
/// The range is about ±35 minutes, far longer than any attempt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Offset(i32);

impl Offset {
    /// No distance.
    pub const ZERO: Self = Self(0);

    /// A distance of `micros` microseconds.
    pub const fn from_micros(micros: i32) -> Self {
        Self(micros)
    }

    /// A distance of `millis` milliseconds, held at the ends of the range.
    pub const fn from_millis(millis: i32) -> Self {
        Self(millis.saturating_mul(1_000))
    }

    /// The distance in microseconds.
    pub const fn as_micros(self) -> i32 {
        self.0
    }

    /// The distance in milliseconds, rounded to the nearest, halves away from zero.
    pub const fn as_millis_rounded(self) -> i32 {
        let half = if self.0 < 0 { -500 } else { 500 };
        self.0.saturating_add(half) / 1_000
    }

    /// The size without the sign.
    pub const fn size(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl fmt::Display for Offset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ms", self.as_millis_rounded())
    }
}

/// How long something lasted: never negative, and an `Option` of it takes no more room than
/// itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Span(
    /// Microseconds, and one more.
    NonZeroU32,
);

impl Span {
    /// No time.
    pub const ZERO: Self = Self(NonZeroU32::MIN);

    /// As long as an offset is; nothing, if that is negative.
    pub const fn of(offset: Offset) -> Self {
        let micros = if offset.0 < 0 { 0 } else { offset.0.unsigned_abs() };
        Self(NonZeroU32::MIN.saturating_add(micros))
    }

    /// So many milliseconds, held at the ends of the range.
    pub const fn from_millis(millis: i32) -> Self {
        Self::of(Offset::from_millis(millis))
    }

    /// In microseconds, not negative.
    pub const fn as_micros(self) -> i32 {
        // At most what an offset has room for.
        (self.0.get() - 1) as i32
    }
}

/// A position or a length in the written music. A quarter note has [`Ticks::PER_QUARTER`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Ticks(u32);

impl Ticks {
    /// 10,080 = 2⁵ · 3² · 5 · 7: dotted 64ths, triplets, quintuplets and septuplets of
    /// 32nds are all whole numbers of ticks.
    pub const PER_QUARTER: u32 = 10_080;

    /// The start of the music.
    pub const ZERO: Self = Self(0);

    /// A position or length of `ticks` ticks.
    pub const fn new(ticks: u32) -> Self {
        Self(ticks)
    }

    /// The number of ticks.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// The sum, held at the largest position.
    pub const fn plus(self, length: Self) -> Self {
        Self(self.0.saturating_add(length.0))
    }

    /// The length from `earlier` to `self`; nothing if `self` comes first.
    pub const fn since(self, earlier: Self) -> Self {
        Self(self.0.saturating_sub(earlier.0))
    }
}

/// A tempo, as the length of a quarter note in microseconds.
///
/// Allowed are 40 ms to 6 s a quarter: 1,500 down to 10 quarters a minute. An `Option` of it takes
/// no more room than itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Tempo(NonZeroU32);

impl Tempo {
    /// No number that a caller passes is 0.
    const fn of_micros(micros: u32) -> Self {
        match NonZeroU32::new(micros) {
            Some(micros) => Self(micros),
            None => Self(NonZeroU32::MIN),
        }
    }

    /// The fastest tempo, 40 ms a quarter.
    pub const FASTEST: Self = Self::of_micros(40_000);
    /// The slowest tempo, 6 s a quarter.
    pub const SLOWEST: Self = Self::of_micros(6_000_000);

    /// A tempo from the length of a quarter note; `None` outside 40 ms to 6 s.
    pub const fn from_micros_per_quarter(micros: u32) -> Option<Self> {
        if micros < Self::FASTEST.0.get() || micros > Self::SLOWEST.0.get() {
            return None;
        }
        Some(Self::of_micros(micros))
    }

    /// A tempo from beats a minute, where a beat is `beat` long (a dotted quarter in 6/8).
    ///
    /// ```
    /// use evenhand_core::units::{Tempo, Ticks};
    /// let quarter = Ticks::new(Ticks::PER_QUARTER);
    /// assert_eq!(Tempo::from_beats_per_minute(120, quarter).unwrap().micros_per_quarter(), 500_000);
    /// assert!(Tempo::from_beats_per_minute(0, quarter).is_none());
    /// ```
    pub const fn from_beats_per_minute(beats: u32, beat: Ticks) -> Option<Self> {
        if beats == 0 || beat.0 == 0 {
            return None;
        }
        let numerator = 60_000_000_u64 * Ticks::PER_QUARTER as u64;
        let denominator = beats as u64 * beat.0 as u64;
        let micros = (numerator + denominator / 2) / denominator;
        if micros > u32::MAX as u64 {
            return None;
        }
        Self::from_micros_per_quarter(micros as u32)
    }

    /// The length of a quarter note in microseconds.
    pub const fn micros_per_quarter(self) -> u32 {
        self.0.get()
    }

    /// Beats a minute in hundredths, for a beat of the given length, rounded to the nearest.
    pub const fn hundredths_of_beats_per_minute(self, beat: Ticks) -> u32 {
        if beat.0 == 0 {
            return 0;
        }
        let numerator = 6_000_000_000_u64 * Ticks::PER_QUARTER as u64;
        let denominator = self.0.get() as u64 * beat.0 as u64;
        ((numerator + denominator / 2) / denominator) as u32
    }

    /// Whether this tempo is slower than `other`.
    pub const fn is_slower_than(self, other: Self) -> bool {
        self.0.get() > other.0.get()
    }

    /// The slower of two tempi.
    #[must_use]
    pub const fn slower(self, other: Self) -> Self {
        if self.is_slower_than(other) { self } else { other }
    }

    /// The faster of two tempi.
    #[must_use]
    pub const fn faster(self, other: Self) -> Self {
        if self.is_slower_than(other) { other } else { self }
    }

    /// So many per mille of this tempo: less than 1,000 is slower. Held at the ends of the
    /// range; 0 gives the slowest.
    #[must_use]
    pub const fn at_per_mille(self, per_mille: u32) -> Self {
        if per_mille == 0 {
            return Self::SLOWEST;
        }
        let half = per_mille as u64 / 2;
        let micros = (self.0.get() as u64 * 1_000 + half) / per_mille as u64;
        Self::held(micros)
    }

    /// The nearest tempo that is a whole number of beats a minute, one at least; held at the
    /// ends of the range.
    #[must_use]
    pub const fn in_whole_beats(self, beat: Ticks) -> Self {
        let beats = (self.hundredths_of_beats_per_minute(beat) as u64 + 50) / 100;
        Self::of_beats(if beats == 0 { 1 } else { beats }, beat)
    }

    /// So many beats a minute, held at the ends of the range; a beat of no length is taken for
    /// a quarter note.
    pub(crate) const fn of_beats(beats: u64, beat: Ticks) -> Self {
        let beat = if beat.0 == 0 { Ticks::PER_QUARTER } else { beat.0 };
        let numerator = 60_000_000_u64 * Ticks::PER_QUARTER as u64;
        let denominator = beats.saturating_mul(beat as u64);
        if denominator == 0 {
            return Self::SLOWEST;
        }
        Self::held((numerator + denominator / 2) / denominator)
    }

    const fn held(micros: u64) -> Self {
        if micros < Self::FASTEST.0.get() as u64 {
            Self::FASTEST
        } else if micros > Self::SLOWEST.0.get() as u64 {
            Self::SLOWEST
        } else {
            Self::of_micros(micros as u32)
        }
    }

    /// How long `length` lasts at this tempo, in microseconds, rounded to the nearest and
    /// held at the largest [`Offset`].
    pub const fn lasting(self, length: Ticks) -> Offset {
        Offset(lasting(length, self.0.get()))
    }
}

/// How long a written distance lasts at a pace in microseconds a quarter, in microseconds, rounded to
/// the nearest and held at the largest number.
// Not inlined: it stands in many places, and has a division.
#[inline(never)]
pub(crate) const fn lasting(length: Ticks, pace: u32) -> i32 {
    let quarter = Ticks::PER_QUARTER as u64;
    let micros = (length.0 as u64 * pace as u64 + quarter / 2) / quarter;
    if micros > i32::MAX as u64 { i32::MAX } else { micros as i32 }
}

/// A length of practice in whole seconds, or a point of the caller's clock in seconds since
/// any fixed start. Attempts are timed by [`Instant`]; a plan of practice needs no more.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Seconds(u32);

impl Seconds {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// So many seconds.
    pub const fn new(seconds: u32) -> Self {
        Self(seconds)
    }

    /// So many minutes, held at the end of the range.
    pub const fn from_minutes(minutes: u32) -> Self {
        Self(minutes.saturating_mul(60))
    }

    /// The number of seconds.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Whole minutes, rounded to the nearest.
    pub const fn as_minutes_rounded(self) -> u32 {
        self.0.saturating_add(30) / 60
    }

    /// The time from `earlier` to `self`; none if `self` comes first.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Self {
        Self(self.0.saturating_sub(earlier.0))
    }
}
