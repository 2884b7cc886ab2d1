//! How strings are spread over channels.

use super::{Take, most_common};
use evenhand_core::pickup::Channels;

/// What was found out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Layout {
    /// This.
    Found(Channels),
    /// No layout that is known: for each string, the highest first, its channel from 0.
    Odd(Vec<Option<u8>>),
}

/// So many strings have to be heard. Our default.
const FEWEST: usize = 4;

/// From what came of each string, the highest string first.
pub fn layout(strings: &[Take]) -> Layout {
    let channels: Vec<Option<u8>> = strings
        .iter()
        .map(|take| most_common(take.main().iter().map(|note| note.channel)))
        .collect();
    // Strings that were not heard say nothing against what the others say.
    let known = || (0_u8..).zip(&channels).filter_map(|(index, of)| Some((index, (*of)?)));
    let Some((index, channel)) = known().next().filter(|_| known().count() >= FEWEST) else {
        return Layout::Odd(channels);
    };
    if known().all(|(_, other)| other == channel) {
        return Layout::Found(Channels::One);
    }
    // Six channels, of which string 1 has the first.
    let first =
        channel.checked_sub(index).filter(|first| usize::from(*first) + channels.len() <= 16);
    if let Some(first) = first.filter(|first| known().all(|(index, other)| other == first + index))
    {
        return Layout::Found(Channels::PerString { first });
    }
    Layout::Odd(channels)
}

#[cfg(test)]
mod tests {
    use super::super::Note;
    use super::*;

    fn strings(channels: &[u8]) -> Vec<Take> {
        let take = |channel: &u8| Take {
            notes: (0..4)
                .map(|at| Note { channel: *channel, pitch: 60, velocity: 80, at })
                .collect(),
            ..Take::default()
        };
        channels.iter().map(take).collect()
    }

    #[test]
    fn six_consecutive_channels_are_a_channel_per_string() {
        assert_eq!(
            layout(&strings(&[10, 11, 12, 13, 14, 15])),
            Layout::Found(Channels::PerString { first: 10 })
        );
        assert_eq!(layout(&strings(&[0; 6])), Layout::Found(Channels::One));
    }

    #[test]
    fn anything_else_is_told_as_it_is() {
        let backwards = [5, 4, 3, 2, 1, 0];
        assert_eq!(layout(&strings(&backwards)), Layout::Odd(backwards.map(Some).to_vec()));
        let mut silent = strings(&[0, 1, 2, 3, 4, 5]);
        (silent[2], silent[5]) = (Take::default(), Take::default());
        let four = Layout::Found(Channels::PerString { first: 0 });
        assert_eq!(layout(&silent), four, "four strings tell where the others are");
        silent[3] = Take::default();
        assert!(matches!(layout(&silent), Layout::Odd(_)), "three do not");
        assert!(matches!(layout(&strings(&[12, 13, 14, 15, 16, 17])), Layout::Odd(_)));
    }
}
