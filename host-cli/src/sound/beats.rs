//! When the click comes: the count-in, and then every beat.

use evenhand_core::study::Metre;
use evenhand_core::units::{Tempo, Ticks};

/// Microseconds in a second.
const SECOND: u128 = 1_000_000;

/// A count-in and the click that follows it, for ever.
///
/// Beats are numbered from 0, the first of the count-in. Each is reckoned from the first, in whole
/// numbers, so no rounding adds up: after an hour a beat is within half a frame (or half a
/// microsecond) of where the tempo puts it, as after a second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Click {
    metre: Metre,
    tempo: Tempo,
    count_in_bars: u32,
    enters_on: u32,
}

/// One beat of a click.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beat {
    /// Its number in the bar, from 1.
    pub in_bar: u32,
    /// How many beats of the count-in are left, with this one; none once it is over.
    pub left: Option<u32>,
}

impl Beat {
    /// Whether it is the first of a bar.
    pub const fn is_strong(self) -> bool {
        self.in_bar == 1
    }
}

impl Click {
    /// A click in this metre and tempo with so many bars of count-in. The music begins on the
    /// first beat of a bar.
    pub const fn new(metre: Metre, tempo: Tempo, count_in_bars: u32) -> Self {
        Self { metre, tempo, count_in_bars, enters_on: 0 }
    }

    /// The same for music that begins on another beat of its bar, counted from 0: the count-in
    /// begins on that beat, too.
    #[must_use]
    pub const fn entering_on(self, beat: u32) -> Self {
        Self { enters_on: beat, ..self }
    }

    /// How many beats a bar has.
    pub fn beats_in_bar(&self) -> u32 {
        (self.metre.bar().get() / self.metre.beat().get().max(1)).max(1)
    }

    /// How many beats are counted in: also the number of the beat on which the music begins.
    pub fn count_in(&self) -> u32 {
        self.beats_in_bar().saturating_mul(self.count_in_bars)
    }

    /// What a beat is.
    pub fn beat(&self, number: u32) -> Beat {
        let beats = u64::from(self.beats_in_bar());
        // The count-in has whole bars, so it does not change where in the bar a beat stands.
        let place = (u64::from(number) + u64::from(self.enters_on)) % beats;
        let left = self.count_in().checked_sub(number).filter(|left| *left > 0);
        Beat { in_bar: u32::try_from(place + 1).unwrap_or(1), left }
    }

    /// What is left of it from this beat on.
    #[must_use]
    pub fn from_beat(&self, number: u32) -> Self {
        if number == 0 {
            return *self;
        }
        // The rest of a count-in is not counted any more, but its beats stand where they stood.
        let enters_on = self.beat(number).in_bar - 1;
        Self { count_in_bars: 0, enters_on, ..*self }
    }

    /// The first beat of the first bar that begins `micros` or more after the click has.
    pub fn bar_after(&self, micros: u64) -> u32 {
        let beats = self.beats_in_bar();
        let upbeat = (beats - self.enters_on % beats) % beats;
        let left = micros.saturating_sub(self.micros(upbeat));
        // Bars are of equal length but for rounding, which one more look makes good.
        let bars = u32::try_from(left / self.micros(beats).max(1)).unwrap_or(u32::MAX);
        let mut beat = upbeat.saturating_add(bars.saturating_mul(beats));
        if self.micros(beat) < micros {
            beat = beat.saturating_add(beats);
        }
        beat
    }

    /// When a beat comes, in microseconds after the first.
    pub fn micros(&self, number: u32) -> u64 {
        self.reckon(number, SECOND)
    }

    /// When a beat comes, in frames after the first, at so many frames a second.
    pub fn frame(&self, number: u32, rate: u32) -> u64 {
        self.reckon(number, u128::from(rate))
    }

    /// In `units` a second, rounded to the nearest.
    fn reckon(&self, number: u32, units: u128) -> u64 {
        let micros_per_quarter = u128::from(self.tempo.micros_per_quarter());
        let ticks = u128::from(self.metre.beat().get()) * u128::from(number);
        let divisor = u128::from(Ticks::PER_QUARTER) * SECOND;
        let rounded = (micros_per_quarter * ticks * units + divisor / 2) / divisor;
        u64::try_from(rounded).unwrap_or(u64::MAX)
    }
}
