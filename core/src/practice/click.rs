//! When the click comes: the count-in, and then every beat.

use crate::study::{Chunk, Metre};
use crate::units::{Instant, Tempo, Ticks};

/// A count-in has at least so many beats; in shorter bars it has several bars. Common practice.
const FEWEST_BEATS: u32 = 3;

/// A count-in and the click that follows it, for ever.
///
/// Beats are numbered from 0, the first of the count-in. Each is reckoned from the first, in whole
/// numbers, so no rounding adds up: after an hour a beat is within half a microsecond of where the
/// tempo puts it, as after a second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ClickTrack {
    metre: Metre,
    tempo: Tempo,
    count_in_bars: u32,
    enters_on: u32,
}

/// One beat of a click.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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

impl ClickTrack {
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

    /// The metre, whose beats click.
    pub const fn metre(&self) -> Metre {
        self.metre
    }

    /// The tempo.
    pub const fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// How many beats are counted in: also the number of the beat on which the music begins.
    pub fn count_in(&self) -> u32 {
        self.beats_in_bar().saturating_mul(self.count_in_bars)
    }

    /// What a beat is.
    pub fn beat(&self, number: u32) -> Beat {
        let beats = self.beats_in_bar();
        // The count-in has whole bars, so it does not change where in the bar a beat stands.
        let in_bar = (number % beats + self.enters_on % beats) % beats + 1;
        let left = self.count_in().checked_sub(number).filter(|left| *left > 0);
        Beat { in_bar, left }
    }

    /// The first beat that is the first of a bar.
    pub fn first_strong(&self) -> u32 {
        let beats = self.beats_in_bar();
        (beats - self.enters_on % beats) % beats
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
        let upbeat = self.first_strong();
        let left = micros.saturating_sub(self.micros(upbeat));
        // Bars are of equal length but for rounding, which one more look makes good.
        let bars = u32::try_from(left / self.micros(beats).max(1)).unwrap_or(u32::MAX);
        let mut beat = upbeat.saturating_add(bars.saturating_mul(beats));
        if self.micros(beat) < micros {
            beat = beat.saturating_add(beats);
        }
        beat
    }

    /// When a beat comes, in microseconds after the first, rounded to the nearest.
    pub fn micros(&self, number: u32) -> u64 {
        // A beat at the slowest tempo has fewer than 2^43 of these.
        let beat = u64::from(self.tempo.micros_per_quarter()) * u64::from(self.metre.beat().get());
        let ticks = u64::from(Ticks::PER_QUARTER);
        // Whole microseconds and the rest apart, so that nothing overflows.
        let (whole, rest) = (beat / ticks, beat % ticks);
        let number = u64::from(number);
        whole.saturating_mul(number).saturating_add((rest * number + ticks / 2) / ticks)
    }
}

/// A click that counts a chunk in, and when it is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CountIn {
    /// The click.
    pub click: ClickTrack,
    /// When its first beat is heard.
    pub begins: Instant,
    /// How long after a beat the chunk begins: 0, or less than a beat.
    after_beat: Ticks,
}

impl CountIn {
    /// A click for a chunk, from this time on. A chunk that begins on another beat than the first
    /// of a bar is counted in from that beat, one that begins between two from the beat before.
    pub fn of(chunk: &Chunk<'_>, begins: Instant) -> Self {
        let place = chunk.place(Ticks::ZERO);
        let click = ClickTrack::new(chunk.metre(), chunk.tempo(), 1);
        let bars = FEWEST_BEATS.div_ceil(click.beats_in_bar());
        let click = ClickTrack { count_in_bars: bars, ..click };
        let click = click.entering_on(u32::from(place.beat.saturating_sub(1)));
        Self { click, begins, after_beat: place.into_beat }
    }

    /// The same from another time on.
    #[must_use]
    pub const fn beginning(self, begins: Instant) -> Self {
        Self { begins, ..self }
    }

    /// When the chunk begins, if it is played as it is counted in.
    pub fn chunk_begins(&self) -> Instant {
        let beat = self.beat(self.click.count_in());
        beat.plus(self.click.tempo.lasting(self.after_beat))
    }

    /// When a beat is heard, counted from 0.
    pub fn beat(&self, number: u32) -> Instant {
        after(self.begins, self.click.micros(number))
    }

    /// The last beat that is heard by this time, counted from 0; none before the first.
    pub fn beat_at(&self, time: Instant) -> Option<u32> {
        let passed = time.as_micros().checked_sub(self.begins.as_micros())?;
        let beat = u64::from(self.click.tempo.micros_per_quarter())
            * u64::from(self.click.metre.beat().get());
        let about = passed.saturating_mul(u64::from(Ticks::PER_QUARTER)) / beat.max(1);
        let about = u32::try_from(about).unwrap_or(u32::MAX);
        // Each beat is rounded to the nearest microsecond, so it may be one more.
        let more = about.saturating_add(1);
        let number = if self.click.micros(more) <= passed { more } else { about };
        Some(number)
    }
}

/// So many microseconds later.
pub(super) const fn after(time: Instant, micros: u64) -> Instant {
    Instant::from_micros(time.as_micros().saturating_add(micros))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::ExpectedNote;
    use crate::units::Pitch;

    #[test]
    fn a_short_bar_is_counted_twice_and_an_upbeat_from_its_place() {
        let note = ExpectedNote::plain(
            Ticks::ZERO,
            Ticks::new(Ticks::PER_QUARTER),
            Pitch::new(60).unwrap(),
        );
        let tempo = Tempo::from_beats_per_minute(60, Ticks::new(Ticks::PER_QUARTER)).unwrap();
        let upbeat = Ticks::new(Ticks::PER_QUARTER * 3 / 2);
        let notes = [note];
        let chunk = Chunk::new(&notes, tempo).unwrap();
        let chunk = chunk.placed(Metre::new(2, 4).unwrap(), 1, upbeat);
        let count_in = CountIn::of(&chunk, Instant::ZERO);
        let in_bar = |number| count_in.click.beat(number).in_bar;
        assert_eq!((in_bar(0), in_bar(1), in_bar(2)), (2, 1, 2));
        // Two bars of two, and half a beat.
        assert_eq!(count_in.chunk_begins(), Instant::from_micros(4_500_000));
    }

    #[test]
    fn beats_do_not_drift() {
        let tempo = Tempo::from_micros_per_quarter(333_333).unwrap();
        let click = ClickTrack::new(Metre::new(6, 8).unwrap(), tempo, 1);
        // A dotted quarter is 499,999.5 µs.
        assert_eq!((click.micros(1), click.micros(2)), (500_000, 999_999));
        assert_eq!(click.micros(10_000_000), 4_999_995_000_000);
        let begins = Instant::from_micros(7);
        // Beats that are rounded up, and some that are rounded down: 83,333.25 µs.
        for click in [click, ClickTrack::new(Metre::new(4, 16).unwrap(), tempo, 1)] {
            let count_in = CountIn { click, begins, after_beat: Ticks::ZERO };
            for number in [0, 1, 2, 3, 1_000, 9_999_999, 10_000_000] {
                let at = count_in.beat(number);
                assert_eq!(count_in.beat_at(at), Some(number));
                let before = Instant::from_micros(at.as_micros() - 1);
                assert_eq!(count_in.beat_at(before), number.checked_sub(1));
            }
        }
        let slow = ClickTrack::new(Metre::new(1, 1).unwrap(), Tempo::SLOWEST, 8);
        assert!(slow.micros(u32::MAX) > slow.micros(u32::MAX - 1));
    }
}
