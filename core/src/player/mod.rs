//! A simulated player: plays a chunk as a person might, with faults of known kind and size.
//!
//! For tests, demos and benchmarks. Everything follows from the seed, on every machine.
//!
//! Timing noise has two parts, as in the two-level model of Wing and Kristofferson (1973;
//! from memory): a clock that carries its deviations on, and a hand that deviates for each
//! note alone.

mod artefacts;
mod chance;
mod faults;
mod trill;

pub use artefacts::{Artefacts, MESSAGES, Message, Transmission, transmit};
pub use chance::Chance;
pub use faults::Fault;

use trill::Trill;

use crate::limits::PLAYED_NOTES;
use crate::notes::level_of;
use crate::study::{Attack, Chunk, Marks};
use crate::units::{GuitarString, Level, Offset, Pitch, Tempo, Ticks, Velocity};
use heapless::Vec;

/// How well the simulated player plays, faults apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Skill {
    /// Standard deviation of the inner clock, an event.
    pub clock: Offset,
    /// Standard deviation of the hands, a note.
    pub hands: Offset,
    /// The level at which plucked notes are played, on the curve of [`level_of`]. How much
    /// louder a single note can be is limited by velocity 127, which is 0 dB.
    pub plucked: Level,
    /// Standard deviation of loudness.
    pub loudness: Level,
    /// How much softer slurred notes are than plucked ones, on average.
    pub slurs_below: Level,
    /// Trill notes a second, in hundredths.
    pub trill_rate: u32,
}

impl Skill {
    /// A skilled player: scatter of 8 ms altogether, like professional pianists' in scales
    /// (8–9 ms; Jabusch 2006). The loudness is our default.
    pub const SKILLED: Self = Self {
        clock: Offset::from_micros(2_500),
        hands: Offset::from_micros(6_000),
        plucked: PLUCKED,
        loudness: Level::from_hundredths(90),
        slurs_below: Level::from_hundredths(250),
        trill_rate: 800,
    };

    /// No noise at all.
    pub const MACHINE: Self = Self {
        clock: Offset::ZERO,
        hands: Offset::ZERO,
        plucked: PLUCKED,
        loudness: Level::ZERO,
        slurs_below: Level::ZERO,
        trill_rate: 800,
    };
}

/// A note of the performance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounded {
    /// When, from the first written position of the chunk.
    pub at: Offset,
    /// How long.
    pub lasts: Offset,
    /// Its pitch.
    pub pitch: Pitch,
    /// How hard.
    pub velocity: Velocity,
    /// Its string, where the chunk names one.
    pub string: Option<GuitarString>,
    /// Plucked or slurred.
    pub attack: Attack,
    /// The expected note that it is meant to be; `None` for notes of a trill beyond the first
    /// and for extra notes.
    pub meant: Option<u16>,
}

/// What was played, in order of time.
#[derive(Clone, Debug, Default)]
pub struct Performance(Vec<Sounded, PLAYED_NOTES>);

impl Performance {
    /// The notes, in order of time.
    pub fn notes(&self) -> &[Sounded] {
        &self.0
    }
}

/// The level at which plucked notes are usually played: velocity 90 is −6.0 dB on the curve of
/// [`level_of`].
const PLUCKED: Level = Level::from_hundredths(-600);

/// How far accents stand out: well over the 3 dB that the strictest
/// level asks for, and under the 6 dB that velocity 127 leaves. Our default.
pub const ACCENT: Level = Level::from_hundredths(500);

/// What staccato notes sound of their length, in per mille. Our default.
const SHORT: i32 = 400;

/// Written gaps between the end of a note and the next on its string.
const RELEASE: i32 = 12_000;

/// Plays `chunk` at `tempo`, whatever its own is, with `faults`, of which there may be none. Everything
/// follows from the seed. Times count from the first written position, and a note may come before it:
/// leave room on the clock.
pub fn perform(
    chunk: &Chunk<'_>,
    tempo: Tempo,
    skill: Skill,
    faults: &[Fault],
    seed: u64,
) -> Performance {
    let mut chance = Chance::new(seed);
    let mut performance = Performance::default();
    let mut clock = 0_i32;
    let mut onset: Option<Ticks> = None;
    let mut place_in_event = 0;
    for (index, wanted) in chunk.notes().iter().enumerate() {
        if onset == Some(wanted.onset) {
            place_in_event += 1;
        } else {
            onset = Some(wanted.onset);
            clock += chance.normal(skill.clock.as_micros());
            place_in_event = 0;
        }
        let mut note = Plan {
            index: index as u16,
            at: tempo.lasting(wanted.onset).as_micros()
                + clock
                + chance.normal(skill.hands.as_micros()),
            pitch: i16::from(wanted.pitch.number()),
            level: i32::from(skill.plucked.hundredths())
                + chance.normal(skill.loudness.hundredths().into()),
            lasts: tempo.lasting(wanted.duration).as_micros() - RELEASE,
            string: wanted.string,
            attack: wanted.attack,
            sounds: true,
        };
        if wanted.attack == Attack::Slurred {
            note.level -= i32::from(skill.slurs_below.hundredths());
        }
        if wanted.marks.has(Marks::ACCENT) {
            note.level += i32::from(ACCENT.hundredths());
        }
        if wanted.marks.has(Marks::STACCATO) {
            note.lasts = note.lasts * SHORT / 1_000;
        }
        if wanted.marks.has(Marks::ROLLED) {
            note.at += place_in_event * 35_000;
        }
        for fault in faults {
            fault.change(&mut note, chunk, wanted, tempo);
        }
        if !note.sounds {
            continue;
        }
        if let Some(other) = wanted.trill {
            let mut trill = Trill::new(&note, (wanted.pitch, other), skill);
            for fault in faults {
                fault.change_trill(&mut trill);
            }
            note.lasts = trill.interval;
            performance.add(note.sounded());
            performance.trill(&trill, note.string, skill, &mut chance);
        } else {
            performance.add(note.sounded());
        }
    }
    performance.end_trills_by_the_landing(chunk);
    for fault in faults {
        if let Some(extra) = fault.extra(chunk, tempo) {
            performance.add(Some(extra));
        }
    }
    performance.0.sort_unstable_by_key(|note| (note.at, note.meant, note.pitch));
    performance
}

/// What is planned for one expected note.
struct Plan {
    index: u16,
    at: i32,
    pitch: i16,
    level: i32,
    lasts: i32,
    string: Option<GuitarString>,
    attack: Attack,
    sounds: bool,
}

impl Plan {
    fn sounded(&self) -> Option<Sounded> {
        Some(Sounded {
            at: Offset::from_micros(self.at),
            lasts: Offset::from_micros(self.lasts.max(30_000)),
            pitch: Pitch::new(u8::try_from(self.pitch).ok()?)?,
            velocity: velocity_of(self.level)?,
            string: self.string,
            attack: self.attack,
            meant: Some(self.index),
        })
    }
}

impl Performance {
    /// The hand that lands has left its trill, however soon it lands. Comes before notes that are
    /// added, since all that are meant for nothing are a trill's.
    fn end_trills_by_the_landing(&mut self, chunk: &Chunk<'_>) {
        let lands = |note: u16| {
            chunk.notes().get(usize::from(note)).is_some_and(|note| note.marks.has(Marks::LANDING))
        };
        let landing = self.0.iter().filter(|note| note.meant.is_some_and(lands));
        if let Some(landed) = landing.map(|note| note.at).min() {
            self.0.retain(|note| note.meant.is_some() || note.at < landed);
        }
    }

    fn add(&mut self, note: Option<Sounded>) {
        if let Some(note) = note {
            // A chunk that fits the judge fits here, trills included; more is left out.
            let _ = self.0.push(note);
        }
    }
}

/// The velocity whose level is nearest.
fn velocity_of(level: i32) -> Option<Velocity> {
    (1..=127)
        .filter_map(Velocity::new)
        .min_by_key(|&velocity| (i32::from(level_of(velocity).hundredths()) - level).abs())
}

#[cfg(test)]
mod tests;
