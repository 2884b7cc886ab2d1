//! Which channel is which string, found from the notes themselves.

use evenhand_core::notes::Channels;
use evenhand_core::study::ExpectedNote;

/// Strings of a guitar, for finding channels.
const STRINGS: u8 = 6;

/// Open strings of the standard tuning, string 1 first (MIDI 1.0 note numbers of E4 to E2).
const OPEN: [u8; STRINGS as usize] = [64, 59, 55, 50, 45, 40];

/// Frets that a guitar may have, with room for capos and other tunings on both sides.
const REACH_DOWN: u8 = 5;
const REACH_UP: u8 = 30;

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
    /// Settles the channels from (channel, pitch) of the notes.
    pub fn settle(self, notes: &[(u8, u8)]) -> Channels {
        match self {
            Self::One => Channels::One,
            Self::String => Channels::PerString { first: first(notes).unwrap_or(0) },
            Self::Auto => match first(notes) {
                Some(first) if several(notes) => Channels::PerString { first },
                _ => Channels::One,
            },
        }
    }
}

/// The fret of a note whose string is known, in the standard tuning without a capo; `None` if
/// it would lie below the open string.
pub fn fret(note: &ExpectedNote) -> Option<u8> {
    let open = *OPEN.get(usize::from(note.string?.number()) - 1)?;
    note.pitch.number().checked_sub(open)
}

fn several(notes: &[(u8, u8)]) -> bool {
    notes.iter().any(|(channel, _)| Some(channel) != notes.first().map(|(first, _)| first))
}

/// The channel of string 1: of all blocks of six that hold every channel in use, the one in
/// which most notes can be played on their string; of equal ones the first channel, then the
/// eleventh (both usual, common practice), then the lowest in use. `None` if the channels in
/// use span more than six.
fn first(notes: &[(u8, u8)]) -> Option<u8> {
    let lowest = notes.iter().map(|&(channel, _)| channel).min()?;
    let highest = notes.iter().map(|&(channel, _)| channel).max()?;
    if highest - lowest >= STRINGS {
        return None;
    }
    let from = highest.saturating_sub(STRINGS - 1);
    let to = lowest.min(16 - STRINGS);
    (from..=to).min_by_key(|&first| {
        let impossible = notes.iter().filter(|&&(channel, pitch)| {
            let open = OPEN.get(usize::from(channel - first)).copied().unwrap_or(0);
            !(open.saturating_sub(REACH_DOWN)..=open + REACH_UP).contains(&pitch)
        });
        let usual = match first {
            0 => 0,
            10 => 1,
            _ => 2 + lowest.abs_diff(first),
        };
        (impossible.count(), usual)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_channels_from_anywhere() {
        let all: Vec<_> = OPEN.iter().zip(5..).map(|(&open, channel)| (channel, open)).collect();
        assert_eq!(ChannelChoice::Auto.settle(&all), Channels::PerString { first: 5 });
    }

    #[test]
    fn a_few_strings_are_placed_by_what_they_can_play() {
        // The two lowest strings alone: E2 and A2 cannot be strings 1 and 2.
        let low = [(5, 40), (4, 45), (5, 43)];
        assert_eq!(ChannelChoice::Auto.settle(&low), Channels::PerString { first: 0 });
        let high = [(10, 64), (11, 59)];
        assert_eq!(ChannelChoice::Auto.settle(&high), Channels::PerString { first: 10 });
    }

    #[test]
    fn one_channel_says_nothing() {
        assert_eq!(ChannelChoice::Auto.settle(&[(3, 60), (3, 64)]), Channels::One);
        assert_eq!(ChannelChoice::Auto.settle(&[]), Channels::One);
        assert_eq!(ChannelChoice::Auto.settle(&[(0, 60), (9, 60)]), Channels::One);
    }
}
