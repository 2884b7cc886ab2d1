//! One attempt whose truth is known: what was written, what was played, and which note is which.

use std::collections::BTreeMap;

use crate::labels::Labels;

/// Ticks per quarter note of the written side, in memory and in the files made from it.
pub const TICKS_PER_QUARTER: u32 = 480;

/// A note that is written in the score.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExpectedNote {
    /// Where it begins, in ticks from the start of the chunk.
    pub onset: u32,
    /// How long it is, in ticks.
    pub length: u32,
    /// The MIDI note number.
    pub pitch: u8,
    /// The MIDI channel, from 0. With a channel per string, string 1 has channel 0.
    pub channel: u8,
    /// The bar it stands in, counted from 1; 0 where bars play no part.
    pub bar: u32,
}

/// What a played note is in truth. The number counts [`Attempt::expected`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// It plays this expected note.
    Plays(usize),
    /// It was played in place of this expected note, with a wrong pitch.
    Wrong(usize),
    /// Nothing in the score asks for it.
    Extra,
}

impl Role {
    /// The expected note it belongs to.
    pub fn expected(self) -> Option<usize> {
        match self {
            Self::Plays(expected) | Self::Wrong(expected) => Some(expected),
            Self::Extra => None,
        }
    }

    fn renumbered(self, new_number: &[usize]) -> Self {
        match self {
            Self::Plays(expected) => Self::Plays(new_number[expected]),
            Self::Wrong(expected) => Self::Wrong(new_number[expected]),
            Self::Extra => Self::Extra,
        }
    }
}

/// A note that was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedNote {
    /// When it begins, in microseconds from the start of the recording.
    pub onset: u32,
    /// How long it sounds, in microseconds.
    pub length: u32,
    /// The MIDI note number.
    pub pitch: u8,
    /// The MIDI channel, from 0.
    pub channel: u8,
    /// The MIDI velocity.
    pub velocity: u8,
    /// What it is in truth.
    pub role: Role,
}

/// A written chunk and one attempt at it, both in the order in which the judge counts them.
#[derive(Clone, Debug)]
pub struct Attempt {
    /// The written notes: in order of onset, then pitch, then channel.
    pub expected: Vec<ExpectedNote>,
    /// The played notes in order of arrival.
    pub played: Vec<PlayedNote>,
    /// The tempo written in the score, in microseconds a quarter.
    pub micros_per_quarter: u32,
    /// Quarters in a bar.
    pub quarters_per_bar: u8,
}

impl Attempt {
    /// Puts both sides in the judge's order and renumbers the truth to it.
    ///
    /// Played notes that begin in the same microsecond stay in the order given.
    ///
    /// # Panics
    /// If a role names an expected note that is not there.
    pub fn new(
        expected: &[ExpectedNote],
        played: &[PlayedNote],
        micros_per_quarter: u32,
        quarters_per_bar: u8,
    ) -> Self {
        let mut order: Vec<usize> = (0..expected.len()).collect();
        order.sort_by_key(|&i| (expected[i].onset, expected[i].pitch, expected[i].channel));
        let mut new_number = vec![0; expected.len()];
        for (new, &old) in order.iter().enumerate() {
            new_number[old] = new;
        }
        let mut played: Vec<PlayedNote> = played
            .iter()
            .map(|note| PlayedNote { role: note.role.renumbered(&new_number), ..*note })
            .collect();
        played.sort_by_key(|note| note.onset);
        Self {
            expected: order.iter().map(|&i| expected[i]).collect(),
            played,
            micros_per_quarter,
            quarters_per_bar,
        }
    }

    /// The labels that a perfect judge gives.
    pub fn truth(&self) -> Labels {
        let mut labels = Labels::default();
        let mut absent = vec![true; self.expected.len()];
        for (played, note) in self.played.iter().enumerate() {
            if let Some(expected) = note.role.expected() {
                absent[expected] = false;
            }
            match note.role {
                Role::Plays(expected) => labels.pairs.insert((expected, played)),
                Role::Wrong(expected) => labels.wrong.insert((expected, played)),
                Role::Extra => labels.extra.insert(played),
            };
        }
        labels.missing = (0..absent.len()).filter(|&i| absent[i]).collect();
        labels
    }

    /// Expected notes that no judge can tell apart: same onset and pitch, and also the same
    /// channel if the judge is told the strings.
    pub fn twins(&self, strings_known: bool) -> Vec<Vec<usize>> {
        let mut groups: BTreeMap<(u32, u8, u8), Vec<usize>> = BTreeMap::new();
        for (i, note) in self.expected.iter().enumerate() {
            let channel = if strings_known { note.channel } else { 0 };
            groups.entry((note.onset, note.pitch, channel)).or_default().push(i);
        }
        groups.into_values().filter(|group| group.len() > 1).collect()
    }

    /// The same attempt with everything on the first channel, as from a pickup that does not
    /// tell the strings apart.
    pub fn on_one_channel(&self) -> Self {
        // Only equal pitches at one onset can change places, and they are twins now.
        let mut one = self.clone();
        one.expected.iter_mut().for_each(|note| note.channel = 0);
        one.played.iter_mut().for_each(|note| note.channel = 0);
        one
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_sides_are_counted_in_the_judges_order() {
        let expected =
            |onset, pitch| ExpectedNote { onset, length: 480, pitch, channel: 0, bar: 0 };
        let played = |onset, pitch, role| PlayedNote {
            onset,
            length: 1,
            pitch,
            channel: 0,
            velocity: 80,
            role,
        };
        let attempt = Attempt::new(
            &[expected(480, 50), expected(0, 64), expected(0, 40)],
            &[
                played(900, 51, Role::Wrong(0)),
                played(7, 64, Role::Plays(1)),
                played(30, 70, Role::Extra),
            ],
            500_000,
            4,
        );
        let truth = attempt.truth();
        assert_eq!(Vec::from_iter(truth.pairs), [(1, 0)]);
        assert_eq!(Vec::from_iter(truth.wrong), [(2, 2)]);
        assert_eq!(Vec::from_iter(truth.missing), [0]);
        assert_eq!(Vec::from_iter(truth.extra), [1]);
    }
}
