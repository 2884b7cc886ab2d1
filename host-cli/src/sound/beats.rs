//! When the click comes: the count-in, and then every beat.

use evenhand_core::study::Metre;
use evenhand_core::units::{Instant, Tempo};

/// One click.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beat {
    /// When it is heard.
    pub at: Instant,
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

/// The clicks from the count-in on, for ever.
#[derive(Clone, Copy, Debug)]
pub struct Beats {
    start: Instant,
    tempo: Tempo,
    metre: Metre,
    count_in: u32,
    /// The beat of the bar that the first click after the count-in is, from 0.
    enters_on: u32,
    next: u32,
}

impl Beats {
    /// A count-in of so many beats that begins at `start`, and the click that follows. The music
    /// begins on beat `enters_on` of its bar, counted from 0.
    pub const fn new(
        start: Instant,
        tempo: Tempo,
        metre: Metre,
        count_in: u32,
        enters_on: u32,
    ) -> Self {
        Self { start, tempo, metre, count_in, enters_on, next: 0 }
    }

    /// When the count-in is over: the first beat of the music.
    pub fn music(&self) -> Instant {
        self.at(self.count_in)
    }

    /// Reckoned from the start each time, so that no rounding adds up.
    fn at(&self, beat: u32) -> Instant {
        let micros = u64::from(self.tempo.micros_per_quarter())
            * u64::from(self.metre.beat().get())
            * u64::from(beat)
            / u64::from(evenhand_core::units::Ticks::PER_QUARTER);
        Instant::from_micros(self.start.as_micros() + micros)
    }
}

impl Iterator for Beats {
    type Item = Beat;

    fn next(&mut self) -> Option<Beat> {
        let number = self.next;
        self.next = self.next.checked_add(1)?;
        let beats = (self.metre.bar().get() / self.metre.beat().get()).max(1);
        // The count-in ends right before the beat on which the music enters.
        let place = (number + self.enters_on + beats * self.count_in - self.count_in) % beats;
        let left = self.count_in.checked_sub(number).filter(|left| *left > 0);
        Some(Beat { at: self.at(number), in_bar: place + 1, left })
    }
}
