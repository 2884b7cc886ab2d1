//! A simulated pickup: sends what the simulated player plays, with the errors that real
//! pickups and converters make.
//!
//! Sizes (how late, how weak, how short) of late doubles, of stale pitches and of what trails are those that a
//! free pitch tracker showed on strings that we made, at a good and at a middling setting (32,000 notes; see
//! `docs/converter-rig.md`). The others it hardly makes; they are our defaults, chosen from the middle to the
//! far end of what [`classify`](crate::classify) allows for.

mod bends;
mod noise;
mod string_output;

use super::{Chance, Performance, Sounded};
use crate::pickup::{Channels, Pickup};
use crate::study::Attack;
use crate::units::{GuitarString, Offset, Velocity};
use heapless::Vec;
use string_output::StringOutput;

/// Messages of one performance, at most; more are left out.
pub const MESSAGES: usize = 4_096;

/// What the simulated pickup does to what is played. Rates are in per mille of the notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Artefacts {
    /// The pickup as it truly is: its channels, its bend range, its latency, and how much louder
    /// each string arrives. What the judge knows of it is another matter.
    pub pickup: Pickup,
    /// Noise of an attack, read as a weak note on another string.
    pub ghosts: u16,
    /// Notes that are begun twice.
    pub double_triggers: u16,
    /// Notes heard an octave off or a twelfth above.
    pub octave_errors: u16,
    /// Notes that begin with a wrong pitch, set right a little later.
    pub late_corrections: u16,
    /// Weak notes when a note has ended: its own pitch four times of five, else a false one below.
    pub trailing: u16,
    /// Notes that are begun once more while they sound, a third of a second later and weaker.
    pub late_doubles: u16,
    /// Notes for which the last pitch of their string is sent, if that is another one.
    pub stale: u16,
    /// Notes of which nothing is sent.
    pub lost: u16,
    /// The same of those that repeat the last pitch of their string, which goes on then.
    pub lost_repeats: u16,
    /// Long notes with a wide vibrato, sent as bends.
    pub vibrato: u16,
    /// Slurred notes are sent as bends of the sounding note.
    pub slurs_as_bends: bool,
    /// Every note has this velocity.
    pub fixed_velocity: Option<Velocity>,
}

impl Artefacts {
    /// A perfect pickup, with a channel per string from the first one on.
    pub const NONE: Self = Self {
        pickup: Pickup::UNKNOWN.on(Channels::PerString { first: 0 }),
        ghosts: 0,
        double_triggers: 0,
        octave_errors: 0,
        late_corrections: 0,
        trailing: 0,
        late_doubles: 0,
        stale: 0,
        lost: 0,
        lost_repeats: 0,
        vibrato: 0,
        slurs_as_bends: false,
        fixed_velocity: None,
    };

    /// The errors of a free pitch tracker at its good setting, as often as it made them on strings that we
    /// made (16,000 notes; see `docs/converter-rig.md`).
    pub const TRACKER: Self = Self {
        trailing: 10,
        late_doubles: 18,
        stale: 8,
        octave_errors: 1,
        lost: 14,
        lost_repeats: 67,
        ..Self::NONE
    };
}

/// A message of the pickup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Message {
    /// When it comes, from the first written position of the chunk.
    pub at: Offset,
    /// Its bytes.
    pub bytes: [u8; 3],
}

impl Message {
    /// Ends come before bends and bends before beginnings of the same moment.
    const fn rank(&self) -> u8 {
        match self.bytes {
            [0x80..=0x8f, ..] => 0,
            [0xe0..=0xef, ..] => 1,
            _ => 2,
        }
    }
}

/// What a pickup sends, in order of time.
#[derive(Clone, Debug, Default)]
pub struct Transmission(Vec<Message, MESSAGES>);

impl Transmission {
    /// The messages, in order of time.
    pub fn messages(&self) -> &[Message] {
        &self.0
    }

    fn send(&mut self, at: i32, bytes: [u8; 3]) {
        // More than there is room for is left out, as documented.
        let _ = self.0.push(Message { at: Offset::from_micros(at), bytes });
    }
}

/// Sends a performance through the simulated pickup. Everything follows from the seed.
pub fn transmit(performance: &Performance, artefacts: &Artefacts, seed: u64) -> Transmission {
    let mut chance = Chance::new(seed);
    let mut sent = Transmission::default();
    let strings = (1..=GuitarString::MOST).map(GuitarString::new).chain([None]);
    for string in strings {
        let mut notes = performance.notes().iter().filter(|note| note.string == string).peekable();
        let mut line = StringOutput::new(artefacts, string);
        while let Some(note) = notes.next() {
            let next = notes.peek().copied();
            line.play(note, next, &mut chance, &mut sent);
            noise::ghost(artefacts, performance, note, &mut chance, &mut sent);
        }
    }
    sent.0.sort_unstable_by_key(|message| (message.at, message.rank(), message.bytes));
    sent
}

/// Whether something that happens to so many per mille of the notes happens now.
fn happens(rate: u16, chance: &mut Chance) -> bool {
    chance.below(1_000) < u32::from(rate)
}

/// Whether a note is sent as a bend of the one before it on its string.
fn is_bent_from(artefacts: &Artefacts, before: &Sounded, base: u8, note: &Sounded) -> bool {
    /// A slur joins notes that are no further apart than this.
    const JOINED: i32 = 60_000;
    let end = before.at.as_micros().saturating_add(before.lasts.as_micros());
    let up = i16::from(note.pitch.number()) - i16::from(base);
    artefacts.slurs_as_bends
        && note.attack == Attack::Slurred
        && note.at.as_micros().saturating_sub(end) <= JOINED
        && up.unsigned_abs() <= u16::from(artefacts.pickup.bend_range)
}

/// The channel of a string; the first of all for everything else.
fn channel_of(artefacts: &Artefacts, string: Option<GuitarString>) -> u8 {
    let from_first = string.map_or(0, |string| string.number() - 1);
    match artefacts.pickup.channels {
        Channels::PerString { first } => (first + from_first).min(15),
        Channels::Auto | Channels::One | Channels::Zone => 0,
    }
}

#[cfg(test)]
mod tests;
