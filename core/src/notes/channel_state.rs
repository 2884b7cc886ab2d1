//! What is known of one MIDI channel: its bend, its bend range, and what sounds on it.

use crate::units::Pitch;

/// A parameter that data entry is meant for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Parameter {
    /// Registered parameter 0: the range of the pitch bend (MIDI 1.0).
    BendRange,
    /// Registered parameter 6: the members of a zone (MPE).
    ZoneMembers,
}

/// No parameter is selected (MIDI 1.0: the null function, 127 and 127).
const NULL: (u8, u8) = (127, 127);

/// Cents beyond half a semitone that a bend has to go to reach the next one, so that a pitch
/// right between two does not flutter. Our default.
const PAST_HALF: i32 = 5;

/// Cents in a semitone.
const SEMITONE: i32 = 100;

/// The state of one channel.
#[derive(Clone, Copy, Debug)]
pub(super) struct ChannelState {
    /// −8,192 to 8,191.
    bend: i16,
    /// What a full bend stands for, in cents.
    range: u16,
    selected: (u8, u8),
    /// A bit for each key that is down.
    keys: [u32; 4],
    /// The key whose bends are followed, and its pitch now: the only one that sounds.
    followed: Option<(u8, Pitch)>,
}

impl ChannelState {
    pub(super) const fn new(semitones: u8) -> Self {
        Self {
            bend: 0,
            range: semitones as u16 * SEMITONE as u16,
            selected: NULL,
            keys: [0; 4],
            followed: None,
        }
    }

    /// A key goes down; gives its sounding pitch. Where a channel is a string, it replaces
    /// what sounds there.
    pub(super) fn strike(&mut self, key: u8, replaces: bool) -> Pitch {
        if replaces {
            self.silence();
        }
        self.set(key, true);
        let pitch = self.sounding(key);
        self.followed = (self.down() == 1).then_some((key, pitch));
        pitch
    }

    /// A key comes up; gives the pitch that ends.
    pub(super) fn release(&mut self, key: u8) -> Pitch {
        self.set(key, false);
        match self.followed {
            Some((followed, pitch)) if followed == key => {
                self.followed = None;
                pitch
            }
            _ => {
                if self.followed.is_none() && self.down() == 1 {
                    self.followed = self.any_key().map(|key| (key, self.sounding(key)));
                }
                self.sounding(key)
            }
        }
    }

    /// Nothing sounds any more.
    pub(super) fn silence(&mut self) {
        self.keys = [0; 4];
        self.followed = None;
    }

    /// The wheel moves to `bend` (0 to 16,383). Gives the pitch before and now, if the note
    /// that sounds alone on this channel has come to another semitone.
    pub(super) fn turn(&mut self, bend: u16) -> Option<(Pitch, Pitch)> {
        self.bend = bend.min(16_383) as i16 - 8_192;
        self.moved()
    }

    /// RP-015: reset controllers centres the bend and selects no parameter; the range stays.
    pub(super) fn reset_controllers(&mut self) -> Option<(Pitch, Pitch)> {
        self.bend = 0;
        self.selected = NULL;
        self.moved()
    }

    /// Controllers that select a parameter or set it. Gives the parameter whose coarse value
    /// has come, and the value.
    pub(super) fn control(&mut self, number: u8, value: u8) -> Option<(Parameter, u8)> {
        match number {
            101 => self.selected.0 = value,
            100 => self.selected.1 = value,
            // A parameter that is not registered: data entry is not for us.
            98 | 99 => self.selected = NULL,
            6 => return self.parameter().map(|parameter| (parameter, value)),
            38 if self.parameter() == Some(Parameter::BendRange) => {
                // The fine value is in cents.
                let semitones = self.range / SEMITONE as u16;
                self.range = semitones * SEMITONE as u16 + u16::from(value.min(99));
            }
            // Steps up and down (96, 97) are not for a range that has to be known: passed over.
            _ => {}
        }
        None
    }

    /// Sets the bend range.
    pub(super) fn set_range(&mut self, semitones: u8) {
        self.range = u16::from(semitones) * SEMITONE as u16;
    }

    fn parameter(&self) -> Option<Parameter> {
        match self.selected {
            (0, 0) => Some(Parameter::BendRange),
            (0, 6) => Some(Parameter::ZoneMembers),
            _ => None,
        }
    }

    fn cents(&self, key: u8) -> i32 {
        i32::from(key) * SEMITONE + i32::from(self.bend) * i32::from(self.range) / 8_192
    }

    /// The semitone nearest to what sounds when this key is down.
    fn sounding(&self, key: u8) -> Pitch {
        nearest(self.cents(key))
    }

    fn moved(&mut self) -> Option<(Pitch, Pitch)> {
        let (key, before) = self.followed?;
        let cents = self.cents(key);
        let off = cents - i32::from(before.number()) * SEMITONE;
        let now = nearest(cents);
        if off.abs() <= SEMITONE / 2 + PAST_HALF || now == before {
            return None;
        }
        self.followed = Some((key, now));
        Some((before, now))
    }

    fn set(&mut self, key: u8, down: bool) {
        if let Some(word) = self.keys.get_mut(usize::from(key / 32)) {
            let bit = 1 << (key % 32);
            *word = if down { *word | bit } else { *word & !bit };
        }
    }

    fn down(&self) -> u32 {
        self.keys.iter().map(|word| word.count_ones()).sum()
    }

    fn any_key(&self) -> Option<u8> {
        let (word, keys) = self.keys.iter().enumerate().find(|(_, keys)| **keys != 0)?;
        Some(word as u8 * 32 + keys.trailing_zeros() as u8)
    }
}

/// The semitone nearest to so many cents above note 0, held at MIDI's range.
fn nearest(cents: i32) -> Pitch {
    let number = (cents + SEMITONE / 2).div_euclid(SEMITONE).clamp(0, 127) as u8;
    Pitch::new(number).unwrap_or(Pitch::LOWEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(change: Option<(Pitch, Pitch)>) -> Option<(u8, u8)> {
        change.map(|(from, to)| (from.number(), to.number()))
    }

    /// The middle is 8,192; with MIDI 1.0's default of two semitones, 4,096 is one.
    #[test]
    fn a_bend_of_a_semitone_is_another_pitch() {
        let mut line = ChannelState::new(2);
        assert_eq!(line.strike(64, false).number(), 64);
        assert_eq!(line.turn(8_192 + 2_048), None, "half a semitone is still the same");
        assert_eq!(numbers(line.turn(8_192 + 4_096)), Some((64, 65)));
        assert_eq!(line.turn(8_192 + 4_000), None);
        assert_eq!(numbers(line.turn(8_192)), Some((65, 64)));
        assert_eq!(line.release(64).number(), 64);
        assert_eq!(line.turn(16_383), None, "nothing sounds");
    }

    #[test]
    fn a_note_ends_with_the_pitch_it_was_bent_to() {
        let mut line = ChannelState::new(2);
        line.strike(64, true);
        line.turn(16_383);
        assert_eq!(line.release(64).number(), 66);
        // The wheel is still up, and so is the next note.
        assert_eq!(line.strike(60, true).number(), 62);
    }

    #[test]
    fn bends_of_a_chord_on_one_channel_are_not_followed() {
        let mut line = ChannelState::new(12);
        line.strike(60, false);
        line.strike(64, false);
        assert_eq!(line.turn(16_383), None);
        line.turn(8_192);
        line.release(60);
        assert_eq!(numbers(line.turn(16_383)), Some((64, 76)));
    }

    #[test]
    fn the_range_follows_its_registered_parameter() {
        let mut line = ChannelState::new(2);
        for (number, value) in [(101, 0), (100, 0)] {
            assert_eq!(line.control(number, value), None);
        }
        assert_eq!(line.control(6, 12), Some((Parameter::BendRange, 12)));
        line.set_range(12);
        line.control(38, 50);
        assert_eq!(line.range, 1_250);
        // The null function: data entry is for nobody.
        line.control(101, 127);
        line.control(100, 127);
        assert_eq!(line.control(6, 5), None);
        // Nor is it for us after a parameter that is not registered.
        line.control(101, 0);
        line.control(100, 0);
        line.control(99, 3);
        assert_eq!(line.control(6, 5), None);
        assert_eq!(line.range, 1_250);
    }

    #[test]
    fn the_ends_of_the_range_are_held() {
        let mut line = ChannelState::new(127);
        assert_eq!(line.strike(127, false).number(), 127);
        assert_eq!(line.turn(16_383), None);
        assert_eq!(numbers(line.turn(0)), Some((127, 0)));
    }
}
