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

/// From what came of each string, the highest string first.
pub fn layout(strings: &[Take]) -> Layout {
    let channels: Vec<Option<u8>> = strings
        .iter()
        .map(|take| most_common(take.main().iter().map(|note| note.channel)))
        .collect();
    let known: Option<Vec<u8>> = channels.iter().copied().collect();
    let Some(known) = known else { return Layout::Odd(channels) };
    let Some(&first) = known.first() else { return Layout::Odd(channels) };
    if known.iter().all(|channel| *channel == first) {
        return Layout::Found(Channels::One);
    }
    let consecutive = (first..=15).zip(&known).filter(|(expected, found)| expected == *found);
    if consecutive.count() == known.len() {
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
        silent[2] = Take::default();
        assert!(matches!(layout(&silent), Layout::Odd(_)));
        assert!(matches!(layout(&strings(&[12, 13, 14, 15, 16, 17])), Layout::Odd(_)));
    }
}
