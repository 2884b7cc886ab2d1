//! Which channel is which string, found out from the notes themselves.

use super::zones::Members;
use crate::pickup::Channels;
use crate::units::Pitch;

/// Strings of a guitar, for finding channels.
const STRINGS: u8 = 6;

/// Open strings of the standard tuning, string 1 first (MIDI 1.0 note numbers of E4 to E2).
const OPEN: [u8; STRINGS as usize] = [64, 59, 55, 50, 45, 40];

/// How far below and above its open string a note of a string may lie: frets, with room for
/// capos and other tunings. Our defaults.
const REACH_DOWN: u8 = 5;
const REACH_UP: u8 = 30;

/// First channels that six strings can have.
const PLACES: usize = 16 - STRINGS as usize + 1;

/// So many notes on more than one channel settle which is which. Our default: a chord or two
/// beats.
const FEW: u16 = 4;

/// So many notes on one and the same channel, and it is called the only one. Our default: two
/// bars of eighths. Another channel that comes later is still believed.
const MANY: u16 = 16;

/// What the notes so far say about the channels.
#[derive(Clone, Copy, Debug, Default)]
pub struct Layout {
    /// A bit for each channel in use.
    used: u16,
    notes: u16,
    /// For each first channel, how many notes could not have been played on their string.
    impossible: [u16; PLACES],
}

impl Layout {
    /// No note has been heard.
    pub const fn new() -> Self {
        Self { used: 0, notes: 0, impossible: [0; PLACES] }
    }

    /// Takes a note. Channels count from 0; above 15 there are none.
    pub fn hear(&mut self, channel: u8, pitch: Pitch) {
        if channel > 15 {
            return;
        }
        self.used |= 1 << channel;
        self.notes = self.notes.saturating_add(1);
        for (first, impossible) in (0..).zip(&mut self.impossible) {
            let open = channel.checked_sub(first).and_then(|string| OPEN.get(usize::from(string)));
            let possible = open.is_some_and(|&open| {
                (open - REACH_DOWN..=open + REACH_UP).contains(&pitch.number())
            });
            *impossible = impossible.saturating_add(u16::from(!possible));
        }
    }

    /// What all notes together say: several channels within six are a channel per string.
    pub fn settled(&self) -> Channels {
        match self.best() {
            Some(first) if self.used.count_ones() > 1 => Channels::PerString { first },
            _ => Channels::One,
        }
    }

    /// The channel of string 1, if there is a channel per string: of all blocks of six that
    /// hold every channel in use, the one in which most notes can be played on their string; of
    /// equal ones the first channel, then the eleventh (both usual, common practice), then the
    /// lowest in use. `None` if no block holds all, or nothing was heard.
    pub fn best(&self) -> Option<u8> {
        let lowest = self.lowest()?;
        self.places()?.min_by_key(|&first| {
            let usual = match first {
                0 => 0,
                10 => 1,
                _ => 2 + lowest.abs_diff(first),
            };
            (self.impossible_at(first), usual)
        })
    }

    /// What is to be believed now, after `before`: waits for a few notes, and then changes its
    /// mind only for a reason.
    pub(super) fn after(&self, before: Channels) -> Channels {
        let Some(best) = self.best() else { return Channels::One };
        if self.used.count_ones() < 2 {
            return if self.notes >= MANY { Channels::One } else { before };
        }
        match before {
            Channels::Auto if self.notes < FEW => Channels::Auto,
            Channels::PerString { first }
                if self.places().is_some_and(|mut places| places.any(|place| place == first))
                    && self.impossible_at(first) <= self.impossible_at(best) =>
            {
                before
            }
            _ => Channels::PerString { first: best },
        }
    }

    /// The same in an MPE zone: six members may be the strings, as long as every note can be
    /// played on its own; else the members are handed out to notes.
    pub(super) fn in_zone(&self, zone: Members) -> Channels {
        let per_string = zone.count == STRINGS
            && self.notes >= FEW
            && self.used.count_ones() > 1
            && self.impossible_at(zone.first) == 0;
        if per_string { Channels::PerString { first: zone.first } } else { Channels::Zone }
    }

    fn lowest(&self) -> Option<u8> {
        (self.used != 0).then(|| self.used.trailing_zeros() as u8)
    }

    /// First channels of the blocks that hold every channel in use.
    fn places(&self) -> Option<core::ops::RangeInclusive<u8>> {
        let lowest = self.lowest()?;
        let highest = 15 - self.used.leading_zeros() as u8;
        let from = highest.saturating_sub(STRINGS - 1);
        (highest - lowest < STRINGS).then(|| from..=lowest.min(PLACES as u8 - 1))
    }

    fn impossible_at(&self, first: u8) -> u16 {
        self.impossible.get(usize::from(first)).copied().unwrap_or(u16::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(notes: &[(u8, u8)]) -> Layout {
        let mut layout = Layout::new();
        for &(channel, pitch) in notes {
            layout.hear(channel, Pitch::new(pitch).unwrap());
        }
        layout
    }

    #[test]
    fn six_channels_from_anywhere() {
        for first in 0..=10 {
            let mut layout = Layout::new();
            for (&open, channel) in OPEN.iter().zip(first..) {
                layout.hear(channel, Pitch::new(open).unwrap());
            }
            assert_eq!(layout.settled(), Channels::PerString { first });
        }
    }

    #[test]
    fn a_few_strings_are_placed_by_what_they_can_play() {
        // The two lowest strings alone: E2 and A2 cannot be strings 1 and 2.
        let low = [(5, 40), (4, 45), (5, 43)];
        assert_eq!(heard(&low).settled(), Channels::PerString { first: 0 });
        let high = [(10, 64), (11, 59)];
        assert_eq!(heard(&high).settled(), Channels::PerString { first: 10 });
    }

    #[test]
    fn one_channel_says_nothing() {
        assert_eq!(heard(&[(3, 60), (3, 64)]).settled(), Channels::One);
        assert_eq!(heard(&[]).settled(), Channels::One);
        assert_eq!(heard(&[(0, 60), (9, 60)]).settled(), Channels::One);
        assert_eq!(heard(&[(200, 60)]).settled(), Channels::One);
    }

    #[test]
    fn a_decision_waits_for_a_few_notes_and_stays() {
        let mut layout = Layout::new();
        let mut believed = Channels::Auto;
        let mut all = std::vec::Vec::new();
        for (channel, pitch) in [(2, 57), (1, 60), (0, 64), (1, 60), (3, 52), (5, 43)] {
            layout.hear(channel, Pitch::new(pitch).unwrap());
            believed = layout.after(believed);
            all.push(believed);
        }
        let found = Channels::PerString { first: 0 };
        assert_eq!(all[..3], [Channels::Auto; 3]);
        assert_eq!(all[3..], [found; 3]);
    }

    #[test]
    fn a_second_channel_is_believed_late() {
        let mut layout = Layout::new();
        let mut believed = Channels::Auto;
        for _ in 0..MANY {
            layout.hear(0, Pitch::new(64).unwrap());
            believed = layout.after(believed);
        }
        assert_eq!(believed, Channels::One);
        layout.hear(1, Pitch::new(60).unwrap());
        assert_eq!(layout.after(believed), Channels::PerString { first: 0 });
    }

    extern crate std;
}
