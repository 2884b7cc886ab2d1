//! How a pickup spreads the strings over MIDI channels.

use crate::units::GuitarString;

/// How the pickup spreads the strings over MIDI channels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Channels {
    /// Not known: to be found out from the first notes. Until then no note has a string.
    #[default]
    Auto,
    /// The channel says nothing about the string.
    One,
    /// Consecutive channels, a string each; string 1 (the highest) is on this one, counted
    /// from 0 (common practice: MIDI 1.0 mode 4 leaves the order open).
    PerString {
        /// The channel of string 1, 0 to 15.
        first: u8,
    },
    /// An MPE zone: a channel for each sounding note, whichever is free, so it says nothing
    /// about the string.
    Zone,
}

impl Channels {
    /// The string that a channel stands for, if it stands for one.
    pub const fn string(self, channel: u8) -> Option<GuitarString> {
        match self {
            Self::Auto | Self::One | Self::Zone => None,
            Self::PerString { first } => match channel.checked_sub(first) {
                Some(from_first) => GuitarString::new(from_first.saturating_add(1)),
                None => None,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_channel_is_the_highest_string() {
        let channels = Channels::PerString { first: 10 };
        assert_eq!(channels.string(10), GuitarString::new(1));
        assert_eq!(channels.string(15), GuitarString::new(6));
        assert_eq!(channels.string(9), None);
        assert_eq!(channels.string(255), None);
        assert_eq!(Channels::One.string(3), None);
    }
}
