//! What the user says about channels, and what the notes of a file say.

use evenhand_core::notes::{Channels, Layout};
use evenhand_core::study::ExpectedNote;
use evenhand_core::units::Pitch;

/// Open strings of the standard tuning, string 1 first (MIDI 1.0 note numbers of E4 to E2).
const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// What the user said about channels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum ChannelChoice {
    /// Find out: several channels within six are a channel per string.
    #[default]
    Auto,
    /// A channel per string.
    String,
    /// All strings on one channel.
    One,
}

impl ChannelChoice {
    /// Settles the channels from (channel, pitch) of all the notes of a file.
    pub fn settle(self, notes: &[(u8, u8)]) -> Channels {
        let mut layout = Layout::new();
        for &(channel, pitch) in notes {
            if let Some(pitch) = Pitch::new(pitch) {
                layout.hear(channel, pitch);
            }
        }
        match self {
            Self::One => Channels::One,
            Self::String => Channels::PerString { first: layout.best().unwrap_or(0) },
            Self::Auto => layout.settled(),
        }
    }

    /// What is known before a live stream begins. A channel per string is taken to start at the
    /// first channel.
    pub const fn live(self) -> Channels {
        match self {
            Self::One => Channels::One,
            Self::String => Channels::PerString { first: 0 },
            Self::Auto => Channels::Auto,
        }
    }
}

/// The fret of a note whose string is known, in the standard tuning without a capo; `None` if
/// it would lie below the open string.
pub fn fret(note: &ExpectedNote) -> Option<u8> {
    let open = *OPEN.get(usize::from(note.string?.number()) - 1)?;
    note.pitch.number().checked_sub(open)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_settled_by_all_its_notes() {
        let all: Vec<_> = OPEN.iter().zip(5..).map(|(&open, channel)| (channel, open)).collect();
        assert_eq!(ChannelChoice::Auto.settle(&all), Channels::PerString { first: 5 });
        assert_eq!(ChannelChoice::One.settle(&all), Channels::One);
        let single = [(3, 60), (3, 64)];
        assert_eq!(ChannelChoice::Auto.settle(&single), Channels::One);
        assert_eq!(ChannelChoice::String.settle(&single), Channels::PerString { first: 0 });
    }
}
