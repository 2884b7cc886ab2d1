//! What a note has beside its time: loudness, pitch, string.

use core::fmt;
use core::num::NonZeroU8;

/// A difference in loudness, in hundredths of a decibel. Softer is negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Level(i16);

impl Level {
    /// No difference, or full velocity.
    pub const ZERO: Self = Self(0);

    /// A level of so many hundredths of a decibel.
    pub const fn from_hundredths(hundredths: i16) -> Self {
        Self(hundredths)
    }

    /// The level in hundredths of a decibel.
    pub const fn hundredths(self) -> i16 {
        self.0
    }

    /// The level above `reference`, held at the ends of the range.
    pub const fn above(self, reference: Self) -> Self {
        Self(self.0.saturating_sub(reference.0))
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let tenths = (self.0.unsigned_abs() + 5) / 10;
        write!(f, "{sign}{}.{} dB", tenths / 10, tenths % 10)
    }
}

/// A sounding pitch as a MIDI note number, 0 to 127; 69 is the A of 440 Hz (MIDI 1.0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pitch(u8);

impl Pitch {
    /// Note 0.
    pub const LOWEST: Self = Self(0);

    /// A pitch from its MIDI note number; `None` above 127.
    pub const fn new(number: u8) -> Option<Self> {
        if number > 127 { None } else { Some(Self(number)) }
    }

    /// The MIDI note number.
    pub const fn number(self) -> u8 {
        self.0
    }

    /// Semitones from `other` up to `self`; negative if `self` is lower.
    pub const fn semitones_above(self, other: Self) -> i8 {
        self.0 as i8 - other.0 as i8
    }

    /// Whether a converter may take `tone` for this pitch: its octave on either side or, above, its
    /// twelfth, the third partial. Common practice.
    pub const fn is_partial_of(self, tone: Self) -> bool {
        is_partial(self.semitones_above(tone))
    }

    /// The pitch so many semitones higher (lower, if negative); `None` outside MIDI's range.
    pub const fn transposed(self, semitones: i8) -> Option<Self> {
        let number = self.0 as i16 + semitones as i16;
        if number < 0 || number > 127 { None } else { Some(Self(number as u8)) }
    }
}

/// How far a pitch may be above the tone that a converter takes for it, in semitones.
pub(crate) const PARTIALS: [i8; 3] = [-12, 12, 19];

/// The same of two pitches so many semitones apart.
pub(crate) const fn is_partial(semitones: i8) -> bool {
    let [below, above, third] = PARTIALS;
    semitones == below || semitones == above || semitones == third
}

impl From<wmidi::Note> for Pitch {
    fn from(note: wmidi::Note) -> Self {
        // A `wmidi::Note` is 0 to 127 by construction.
        Self(u8::from(note) & 0x7f)
    }
}

/// How hard a note was struck, 1 to 127. MIDI's velocity 0 is the end of a note, so no note has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Velocity(NonZeroU8);

impl Velocity {
    /// A velocity; `None` for 0 and above 127.
    pub const fn new(value: u8) -> Option<Self> {
        match NonZeroU8::new(value) {
            Some(value) if value.get() <= 127 => Some(Self(value)),
            _ => None,
        }
    }

    /// The MIDI value, 1 to 127.
    pub const fn value(self) -> u8 {
        self.0.get()
    }
}

/// A string of the guitar: 1 is the highest (the thinnest), as guitarists count. Up to 8.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct GuitarString(NonZeroU8);

impl GuitarString {
    /// How many strings an instrument may have.
    pub const MOST: u8 = 8;

    /// The string with this number; `None` for 0 and above 8.
    pub const fn new(number: u8) -> Option<Self> {
        match NonZeroU8::new(number) {
            Some(number) if number.get() <= Self::MOST => Some(Self(number)),
            _ => None,
        }
    }

    /// The number of the string, 1 for the highest.
    pub const fn number(self) -> u8 {
        self.0.get()
    }
}
