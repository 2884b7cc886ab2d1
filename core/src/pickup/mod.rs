//! What is known about a pickup and its converter.
//!
//! A profile tells what the player cannot hear and the judge has to allow for: how late notes
//! come, how much louder one string arrives than another, and in which form slurs come. Every
//! field has a value for "nothing known", so a profile may say as little as one likes.

mod channels;
mod habits;
mod kept;
pub(crate) mod late;
mod lateness;
mod period;

pub use channels::Channels;
pub use habits::{Habits, Mistakes, ONE, StringHabits, TrackingError};
pub use lateness::{Late, Lateness};

use crate::units::{GuitarString, Level, Offset, Pitch};

/// How long after the pluck a note arrives.
///
/// A converter has to hear one to two periods of a tone before it can tell its pitch (one:
/// Derrien 2014; two: Fonseca & Tavares 2020), so low notes come later than high ones: two
/// periods are 24.3 ms on the open low E and 6.1 ms on the high one. The model is a constant
/// and a number of periods; both have to be measured for each rig.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Latency {
    /// What every note takes.
    pub base: Offset,
    /// Periods of the sounding pitch beside that, in per cent: 150 for one and a half.
    pub periods_percent: u16,
}

impl Latency {
    /// No latency, or none known.
    pub const NONE: Self = Self { base: Offset::ZERO, periods_percent: 0 };

    /// No note is taken to be later than this, whatever a profile says: the judge's arithmetic
    /// counts on it. Our default; two periods of the lowest string of a bass are 49 ms.
    pub const MOST: Offset = Offset::from_millis(200);

    /// How late a note of this pitch arrives: between 0 and [`Latency::MOST`].
    pub fn of(self, pitch: Pitch) -> Offset {
        let period = i64::from(period::period(pitch).as_micros());
        let micros =
            i64::from(self.base.as_micros()) + period * i64::from(self.periods_percent) / 100;
        Offset::from_micros(micros.clamp(0, i64::from(Self::MOST.as_micros())) as i32)
    }
}

/// What a converter's pitch bends mean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Bends {
    /// A bend to another semitone may be a slurred note: it begins a note of unknown velocity.
    #[default]
    MaySlur,
    /// Slurs always come as new notes, so bends begin nothing.
    OnlyColour,
}

/// A profile of a pickup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pickup {
    /// How strings are spread over channels.
    pub channels: Channels,
    /// Semitones that a full pitch bend stands for, until the stream says otherwise.
    pub bend_range: u8,
    /// What pitch bends mean.
    pub bends: Bends,
    /// How late notes come.
    pub latency: Latency,
    /// For each string, string 1 first, how much louder it arrives than it is played.
    pub string_levels: [Level; GuitarString::MOST as usize],
    /// For each string, how far the levels that it sends scatter by themselves, as a standard deviation: what
    /// even plucks showed. Zero where that is not known.
    pub level_scatter: [Level; GuitarString::MOST as usize],
    /// A note weaker than this share of the velocity of the loudest around it, in per cent, may
    /// be noise.
    pub noise_percent: u8,
    /// Velocities are all the same and say nothing.
    pub fixed_velocity: bool,
    /// How it errs, as far as that has been learnt.
    pub habits: Habits,
}

impl Pickup {
    /// Nothing is known. The bend range is MIDI 1.0's default of two semitones; the noise share
    /// is our default.
    pub const UNKNOWN: Self = Self {
        channels: Channels::Auto,
        bend_range: 2,
        bends: Bends::MaySlur,
        latency: Latency::NONE,
        string_levels: [Level::ZERO; GuitarString::MOST as usize],
        level_scatter: [Level::ZERO; GuitarString::MOST as usize],
        noise_percent: 35,
        fixed_velocity: false,
        habits: Habits::NONE,
    };

    /// The same pickup with its channels known.
    #[must_use]
    pub const fn on(self, channels: Channels) -> Self {
        Self { channels, ..self }
    }

    /// How much louder a string arrives than it is played; nothing where the string is unknown.
    pub fn string_level(&self, string: Option<GuitarString>) -> Level {
        of_string(&self.string_levels, string)
    }

    /// How far a string's levels scatter by themselves; zero where that, or the string, is not known.
    pub fn scatter_of_levels(&self, string: Option<GuitarString>) -> Level {
        of_string(&self.level_scatter, string)
    }
}

fn of_string(levels: &[Level], string: Option<GuitarString>) -> Level {
    let index = string.map(|string| usize::from(string.number()).saturating_sub(1));
    index.and_then(|index| levels.get(index)).copied().unwrap_or(Level::ZERO)
}

impl Default for Pickup {
    fn default() -> Self {
        Self::UNKNOWN
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pitch(number: u8) -> Pitch {
        Pitch::new(number).unwrap()
    }

    /// Two periods are 24.3 ms on E2 and 6.1 ms on E4 (by the equal temperament).
    #[test]
    fn low_notes_come_later() {
        let latency = Latency { base: Offset::from_millis(4), periods_percent: 200 };
        assert_eq!(latency.of(pitch(40)).as_micros() / 100, 282);
        assert_eq!(latency.of(pitch(64)).as_micros() / 100, 100);
        assert_eq!(Latency::NONE.of(pitch(40)), Offset::ZERO);
    }

    #[test]
    fn nonsense_is_held() {
        let late = Latency { base: Offset::from_micros(i32::MAX), periods_percent: u16::MAX };
        assert_eq!(late.of(pitch(0)), Latency::MOST);
        let early = Latency { base: Offset::from_micros(i32::MIN), periods_percent: 0 };
        assert_eq!(early.of(pitch(0)), Offset::ZERO);
    }

    #[test]
    fn a_string_that_is_not_known_has_no_level_of_its_own() {
        let mut pickup = Pickup::UNKNOWN;
        pickup.string_levels[5] = Level::from_hundredths(-150);
        assert_eq!(pickup.string_level(GuitarString::new(6)), Level::from_hundredths(-150));
        assert_eq!(pickup.string_level(GuitarString::new(1)), Level::ZERO);
        assert_eq!(pickup.string_level(None), Level::ZERO);
    }
}
