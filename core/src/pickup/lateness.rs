//! How late a string's notes come, as far as it is known; how it is learnt is in [`late`](super::late).

use crate::units::Offset;

/// How much later the notes of a string come than the profile's latency says, from one source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Lateness {
    /// How much later, in hundredths of a millisecond, relative to other strings; negative is earlier.
    pub by: i16,
    /// How far that scatters from note to note: a standard deviation in hundredths of a millisecond.
    pub scatter: u16,
    /// How many notes it rests on; none if nothing is known.
    pub notes: u16,
}

impl Lateness {
    /// Nothing is known.
    pub const NONE: Self = Self { by: 0, scatter: 0, notes: 0 };

    /// A lateness and its scatter in microseconds, from so many notes; what is beyond a third of a
    /// second is a third of a second.
    pub fn of_micros(by: i32, scatter: i32, notes: u16) -> Self {
        let hundredths =
            |micros: i32| (micros / MICROS).clamp(-i32::from(i16::MAX), i16::MAX.into());
        Self { by: hundredths(by) as i16, scatter: hundredths(scatter.max(0)) as u16, notes }
    }

    /// How much later.
    pub fn offset(&self) -> Offset {
        Offset::from_micros(i32::from(self.by) * MICROS)
    }

    /// How far it scatters.
    pub fn spread(&self) -> Offset {
        Offset::from_micros(i32::from(self.scatter) * MICROS)
    }
}

/// Microseconds in a hundredth of a millisecond.
const MICROS: i32 = 10;

/// What is known of one string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Late {
    /// What is taken off: told by a profile, or what both sources said alike.
    pub known: Lateness,
    /// What single notes say, against the player's own tempo.
    pub alone: Lateness,
    /// What the notes of chords say, against each other.
    pub in_chords: Lateness,
}

impl Late {
    pub(super) const NONE: Self =
        Self { known: Lateness::NONE, alone: Lateness::NONE, in_chords: Lateness::NONE };
}
