//! The classes of played notes. Which note has which is decided in [`classify`](crate::classify).

/// What a played note is. Each has exactly one class, decided once an attempt is aligned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
#[repr(u8)]
pub enum Class {
    /// A note of the player's that belongs nowhere.
    #[default]
    Stray = 0,
    /// An expected note, with its pitch.
    Right,
    /// An expected note with its pitch, which came after one that it should have preceded.
    Overtaken,
    /// An expected note with its pitch, which came before one that should have preceded it.
    Overtaking,
    /// Another pitch in place of an expected note.
    WrongPitch,
    /// A note of a trill.
    Trill,
    /// In place of an expected note, or within 60 ms of one on its string, its octave or the
    /// twelfth above: the converter took the tone for a partial.
    #[cfg_attr(feature = "serde", serde(rename = "mistracked"))]
    OctaveError,
    /// The same pitch on the same string again within 40 ms, or within 60 ms and weaker than
    /// 60 % of the first.
    DoubleTrigger,
    /// Another pitch on the same string within 25 ms of a note that was expected: the converter
    /// changed its mind.
    Correction,
    /// A weak note (under the pickup's share for noise of the loudest around it, 35 % unless its
    /// profile says otherwise) within 50 ms of another string's, and 12, 19 or 24 semitones
    /// above a sounding note, or shorter than 50 ms. Where velocities say nothing, one of the
    /// latter is enough.
    Ghost,
    /// A weak and short note, lower or at most two semitones higher, on a string whose note has
    /// just ended: a finger was lifted.
    Trailing,
    /// A bend that returns within 80 ms, or goes on to and fro.
    Vibrato,
    /// A bend among others in the same direction.
    Slide,
    /// Any other bend.
    Bend,
    /// The player struck the note before once more.
    Repeated,
    /// The pitch that its string had before, sent once more where another one began.
    Stale,
    /// A pitch that stood for less than a hand can sound one, on a string that sounded another.
    Blip,
}

/// Whose doing a played note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Origin {
    /// The player's, as it was asked for.
    Asked,
    /// The player's: a slip.
    Slip,
    /// The pickup's: an error of tracking.
    Pickup,
    /// The player's, and none of the judge's business: vibrato and the like.
    Ornament,
}

/// How sure a class is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Sureness {
    /// Another class is as likely: an expected note that looks like noise of the pickup.
    #[default]
    Doubtful = 0,
    /// It shows this class, but the note's string is not known or velocities say nothing.
    Likely,
    /// Everything that could be heard says so.
    Certain,
}

/// A class, and how sure it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Classified {
    /// The class.
    pub class: Class,
    /// How sure it is.
    pub sureness: Sureness,
}

impl Class {
    /// All classes, in the order of their numbers.
    const ALL: [Self; 17] = [
        Self::Stray,
        Self::Right,
        Self::Overtaken,
        Self::Overtaking,
        Self::WrongPitch,
        Self::Trill,
        Self::OctaveError,
        Self::DoubleTrigger,
        Self::Correction,
        Self::Ghost,
        Self::Trailing,
        Self::Vibrato,
        Self::Slide,
        Self::Bend,
        Self::Repeated,
        Self::Stale,
        Self::Blip,
    ];

    pub(super) fn from_bits(bits: u16) -> Self {
        Self::ALL.get(usize::from(bits)).copied().unwrap_or_default()
    }

    /// Whose doing it is.
    pub const fn origin(self) -> Origin {
        match self {
            Self::Right | Self::Overtaken | Self::Overtaking | Self::Trill => Origin::Asked,
            Self::WrongPitch | Self::Repeated | Self::Stray => Origin::Slip,
            Self::OctaveError
            | Self::DoubleTrigger
            | Self::Correction
            | Self::Ghost
            | Self::Stale
            | Self::Blip
            | Self::Trailing => Origin::Pickup,
            Self::Vibrato | Self::Slide | Self::Bend => Origin::Ornament,
        }
    }

    /// Whether it is an expected note with its pitch, in order or not.
    pub const fn is_right(self) -> bool {
        matches!(self, Self::Right | Self::Overtaken | Self::Overtaking)
    }
}

impl Sureness {
    pub(super) const fn from_bits(bits: u16) -> Self {
        match bits {
            0 => Self::Doubtful,
            1 => Self::Likely,
            _ => Self::Certain,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Class;

    #[test]
    fn every_class_comes_back_from_its_number() {
        for (number, class) in (0..).zip(Class::ALL) {
            assert_eq!((class as u16, Class::from_bits(number)), (number, class));
        }
    }
}
