//! One string of the simulated pickup, with its channel.

use super::super::{Chance, Sounded, velocity_of};
use super::{Artefacts, Transmission, bends, channel_of, happens, is_bent_from, noise};
use crate::notes::level_of;
use crate::study::Attack;
use crate::units::{GuitarString, Pitch, Velocity};

/// A wrong pitch is set right after this much, and up to so much more, in microseconds: within
/// 25 ms.
const CORRECTED: (i32, u32) = (8_000, 16_000);

pub(super) struct StringOutput<'a> {
    artefacts: &'a Artefacts,
    channel: u8,
    string: Option<GuitarString>,
    /// The key of the note that sounds or has just sounded, and that note.
    sounding: Option<(u8, Sounded)>,
    /// Cents that the channel is bent by.
    bent: i32,
    /// The next note repeats this one, and is not heard.
    is_next_lost: bool,
}

impl<'a> StringOutput<'a> {
    pub(super) fn new(artefacts: &'a Artefacts, string: Option<GuitarString>) -> Self {
        let channel = channel_of(artefacts, string);
        Self { artefacts, channel, string, sounding: None, bent: 0, is_next_lost: false }
    }

    /// Sends a note; `next` is the one after it on this string.
    pub(super) fn play(
        &mut self,
        note: &Sounded,
        next: Option<&Sounded>,
        chance: &mut Chance,
        sent: &mut Transmission,
    ) {
        if core::mem::take(&mut self.is_next_lost) || happens(self.artefacts.lost, chance) {
            return;
        }
        let at = self.arrival(note);
        let pitch = note.pitch.number();
        let from =
            self.sounding.filter(|(key, before)| is_bent_from(self.artefacts, before, *key, note));
        let key = match from {
            Some((key, _)) => {
                let cents = (i32::from(pitch) - i32::from(key)) * 100;
                bends::slur(self.channel, at, (self.bent, cents), self.range(), sent);
                self.bent = cents;
                key
            }
            None => self.strike(note, next, at, chance, sent),
        };
        self.sounding = Some((key, *note));
        if next.is_some_and(|next| is_bent_from(self.artefacts, note, key, next)) {
            return;
        }
        // A string is silent before its next note begins.
        let mut end = at.saturating_add(note.lasts.as_micros()).max(at + 20_000);
        let due = next.map(|next| self.arrival(next));
        let repeats = |next: &&Sounded| next.pitch == note.pitch && next.attack == Attack::Plucked;
        let again = next.filter(repeats);
        if let Some(again) = again.filter(|_| happens(self.artefacts.lost_repeats, chance)) {
            self.is_next_lost = true;
            end = self.arrival(again).saturating_add(again.lasts.as_micros()) - 5_000;
        } else if let Some(due) = due {
            end = end.min(due - 2_000).max(at + 1_000);
        }
        if from.is_none() && happens(self.artefacts.late_doubles, chance) {
            let velocity = self.velocity(note).unwrap_or(1);
            let sound = (key, velocity);
            noise::late_double(self.artefacts, self.channel, sound, (at, end), chance, sent);
        }
        let wide = from.is_none() && note.lasts.as_micros() >= bends::LONG_ENOUGH;
        if wide && happens(self.artefacts.vibrato, chance) {
            bends::vibrato(self.channel, (at, end), self.range(), chance, sent);
        }
        sent.send(end, [0x80 | self.channel, key, 64]);
        if self.bent != 0 {
            // A converter comes to rest before it hears the next note.
            sent.send(end + 500, bends::wheel(self.channel, 0, self.range()));
            self.bent = 0;
        }
        if happens(self.artefacts.trailing, chance) {
            let room = due.map_or(i32::MAX, |due| due - end - 5_000);
            noise::trailing(self.artefacts, self.channel, note, end, room, chance, sent);
        }
    }

    /// Sends the beginning of a note; gives its key.
    fn strike(
        &mut self,
        note: &Sounded,
        next: Option<&Sounded>,
        at: i32,
        chance: &mut Chance,
        sent: &mut Transmission,
    ) -> u8 {
        let Some(velocity) = self.velocity(note) else { return note.pitch.number() };
        let on = |key: u8, velocity: u8| [0x90 | self.channel, key, velocity];
        let off = |key: u8| [0x80 | self.channel, key, 64];
        let right = note.pitch.number();
        let is_joined = next.is_some_and(|next| is_bent_from(self.artefacts, note, right, next));
        let mut key = right;
        let mistaken = happens(self.artefacts.octave_errors, chance);
        let corrected = happens(self.artefacts.late_corrections, chance);
        let doubled = happens(self.artefacts.double_triggers, chance);
        let stale = happens(self.artefacts.stale, chance);
        let last = self.sounding.map(|(last, _)| last).filter(|_| stale && !is_joined);
        if mistaken && !is_joined {
            key = mistaken_for(note.pitch, chance);
        } else if corrected {
            let wrong = mistaken_for(note.pitch, chance);
            let later = at + CORRECTED.0 + chance.below(CORRECTED.1) as i32;
            sent.send(at, on(wrong, velocity));
            sent.send(later - 500, off(wrong));
            sent.send(later, on(key, velocity));
            self.bent = 0;
            return key;
        }
        key = last.unwrap_or(key);
        sent.send(at, on(key, velocity));
        if doubled {
            noise::double_trigger(self.artefacts, self.channel, key, velocity, at, chance, sent);
        }
        self.bent = 0;
        key
    }

    fn range(&self) -> i32 {
        i32::from(self.artefacts.pickup.bend_range.max(1)) * 100
    }

    fn arrival(&self, note: &Sounded) -> i32 {
        let latency = self.artefacts.pickup.latency.of(note.pitch);
        let own = self.artefacts.pickup.habits.late(self.string);
        let own = own.map_or(0, |late| late.offset().as_micros());
        note.at.as_micros().saturating_add(latency.as_micros()).saturating_add(own)
    }

    fn velocity(&self, note: &Sounded) -> Option<u8> {
        if let Some(fixed) = self.artefacts.fixed_velocity {
            return Some(fixed.value());
        }
        let louder = self.artefacts.pickup.string_level(self.string).hundredths();
        let level = i32::from(level_of(note.velocity).hundredths()) + i32::from(louder);
        velocity_of(level).map(Velocity::value)
    }
}

/// An octave below, an octave or a twelfth above.
fn mistaken_for(pitch: Pitch, chance: &mut Chance) -> u8 {
    let off = match chance.below(3) {
        0 => -12,
        1 => 12,
        _ => 19,
    };
    pitch.transposed(off).unwrap_or(pitch).number()
}
