//! A passage as plucked tones, reckoned and not recorded.
//!
//! A string is a line of samples that goes round once a period and is averaged with its neighbour each time, so
//! that what begins as noise becomes a tone that dies away: Karplus and Strong, "Digital Synthesis of Plucked-String
//! and Drum Timbres", Computer Music Journal 7 (2), 1983. What is left of the period beyond whole samples is an
//! all-pass filter's: Jaffe and Smith, "Extensions of the Karplus-Strong Plucked-String Algorithm", in the same
//! issue. Both from memory; a test measures the pitch.

use crate::study::Prepared;
use evenhand_core::attempt::PlayedNote;
use evenhand_core::player::{Skill, perform};
use evenhand_core::units::{Offset, Pitch};

/// The loudest tone, as a share of the loudest that there is: six together are still not cut often. Our default.
const LOUDEST: f64 = 0.35;

/// What is left of a tone after each time round, beside what averaging takes. Our default, by ear.
const KEPT: f64 = 0.996;

/// How long a tone takes to end, in microseconds. Our default.
const RELEASE: u64 = 30_000;

/// How long a note is that nobody has ended, and the velocity of one that was not heard. Our defaults.
const OPEN: u64 = 500_000;
const USUAL: u8 = 80;

/// The longest passage, in microseconds: what goes beyond it is left out. Our default.
const LONGEST: u64 = 300_000_000;

/// A note of a passage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pluck {
    /// When it begins, in microseconds from the beginning.
    pub at: u64,
    /// How long it lasts, in microseconds.
    pub lasts: u64,
    /// Its pitch.
    pub pitch: Pitch,
    /// How hard it is plucked, from 1 to 127.
    pub velocity: u8,
}

/// What is played to be listened to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Passage(Vec<Pluck>);

impl Passage {
    /// A chunk at its tempo, evenly, with its landing.
    pub fn of_chunk(chunk: &Prepared) -> Self {
        let played = perform(&chunk.at_tempo(chunk.tempo), chunk.tempo, Skill::MACHINE, &[], 0);
        Self::of(
            played
                .notes()
                .iter()
                .map(|note| (note.at, positive(note.lasts), note.pitch, note.velocity.value())),
        )
    }

    /// What somebody has played, as it was heard.
    pub fn of_played(notes: &[PlayedNote]) -> Self {
        Self::of(notes.iter().map(|note| {
            let lasted =
                note.lasted.map_or(OPEN, |span| u64::try_from(span.as_micros()).unwrap_or(0));
            let velocity = note.velocity.map_or(USUAL, |velocity| velocity.value());
            (note.at, lasted, note.pitch, velocity)
        }))
    }

    fn of(notes: impl Iterator<Item = (Offset, u64, Pitch, u8)>) -> Self {
        let notes: Vec<_> = notes.collect();
        let first = notes.iter().map(|(at, ..)| *at).min().unwrap_or(Offset::ZERO);
        let since = |at: Offset| i64::from(at.as_micros()) - i64::from(first.as_micros());
        let plucks = notes.into_iter().map(|(at, lasts, pitch, velocity)| Pluck {
            at: u64::try_from(since(at)).unwrap_or(0),
            lasts: lasts.min(LONGEST),
            pitch,
            velocity: velocity.clamp(1, 127),
        });
        Self(plucks.filter(|pluck| pluck.at < LONGEST).collect())
    }

    /// Its notes.
    pub fn notes(&self) -> &[Pluck] {
        &self.0
    }

    /// How long it sounds, in microseconds.
    pub fn lasts(&self) -> u64 {
        self.0.iter().map(|note| note.at + note.lasts + RELEASE).max().unwrap_or(0)
    }

    /// All of it as samples from −1 to 1.
    pub fn samples(&self, rate: u32) -> Vec<f32> {
        let frames = |micros: u64| (micros as f64 * f64::from(rate) / 1e6).round() as usize;
        let mut samples = vec![0.0_f32; frames(self.lasts())];
        for (index, note) in self.0.iter().enumerate() {
            let (lasts, release) = (frames(note.lasts), frames(RELEASE).max(1));
            let hard = f64::from(note.velocity) / 127.0;
            // A velocity is a level of 40 times the logarithm of its share (DLS): its square.
            let level = LOUDEST * hard * hard;
            let tone = pluck(hertz(note.pitch), lasts + release, rate, index as u64);
            let sounding = samples.iter_mut().skip(frames(note.at));
            for (frame, (sample, tone)) in sounding.zip(tone).enumerate() {
                let left = (lasts + release).saturating_sub(frame) as f64 / release as f64;
                *sample += (level * left.min(1.0) * tone) as f32;
            }
        }
        samples.iter_mut().for_each(|sample| *sample = sample.clamp(-1.0, 1.0));
        samples
    }
}

fn positive(offset: Offset) -> u64 {
    u64::try_from(offset.as_micros()).unwrap_or(0)
}

/// Equal temperament by A4, which is note 69 and 440 Hz.
fn hertz(pitch: Pitch) -> f64 {
    440.0 * 2_f64.powf((f64::from(pitch.number()) - 69.0) / 12.0)
}

/// A string that is plucked once: so many samples, at its loudest in the first period.
fn pluck(hertz: f64, frames: usize, rate: u32, seed: u64) -> Vec<f64> {
    // Averaging takes half a sample, the all-pass filter a tenth and up to one more.
    let period = f64::from(rate) / hertz - 0.5;
    let whole = (period - 0.1).floor().max(2.0);
    let rest = period - whole;
    let filter = (1.0 - rest) / (1.0 + rest);
    let mut line = noise(whole as usize, seed);
    let (mut before, mut came, mut went) = (0.0, 0.0, 0.0);
    let mut at = 0;
    let mut samples = Vec::with_capacity(frames);
    for _ in 0..frames {
        let now = line[at];
        let average = KEPT * (now + before) / 2.0;
        before = now;
        went = filter * average + came - filter * went;
        came = average;
        line[at] = went;
        at = (at + 1) % line.len();
        samples.push(now);
    }
    samples
}

/// Seeded noise around zero whose loudest sample is 1, a little softened.
fn noise(samples: usize, seed: u64) -> Vec<f64> {
    let mut state = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut draw = || {
        // Knuth's constants for a linear congruential generator.
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1_u32 << 24) - 0.5
    };
    let raw: Vec<f64> = (0..samples).map(|_| draw()).collect();
    let soft = |at: usize| raw[at] + raw[(at + 1) % samples];
    let soft: Vec<f64> = (0..samples).map(soft).collect();
    let mean = soft.iter().sum::<f64>() / samples as f64;
    let loudest = soft.iter().map(|sample| (sample - mean).abs()).fold(f64::EPSILON, f64::max);
    soft.iter().map(|sample| (sample - mean) / loudest).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: u32 = 48_000;

    /// How much of a frequency is in the samples.
    fn share(samples: &[f32], hertz: f64) -> f64 {
        let turn = std::f64::consts::TAU * hertz / f64::from(RATE);
        let sum = |part: fn(f64) -> f64| {
            let samples = samples.iter().zip(0_u32..);
            samples.map(|(sample, at)| f64::from(*sample) * part(turn * f64::from(at))).sum::<f64>()
        };
        sum(f64::cos).hypot(sum(f64::sin))
    }

    #[test]
    fn every_fret_has_its_pitch_to_a_few_cents() {
        for number in 40..=84 {
            let pitch = Pitch::new(number).unwrap();
            let passage = Passage(vec![Pluck { at: 0, lasts: 1_000_000, pitch, velocity: 127 }]);
            let samples = passage.samples(RATE);
            let cents = |cents: f64| hertz(pitch) * 2_f64.powf(cents / 1_200.0);
            let best = (-20..=20)
                .map(f64::from)
                .max_by(|a, b| share(&samples, cents(*a)).total_cmp(&share(&samples, cents(*b))));
            assert!(best.unwrap().abs() <= 4.0, "note {number} is {best:?} cents off");
        }
    }

    #[test]
    fn notes_begin_on_their_frames_and_end() {
        let pitch = Pitch::new(64).unwrap();
        let note = |at, velocity| Pluck { at, lasts: 200_000, pitch, velocity };
        let passage = Passage(vec![note(0, 127), note(500_000, 64)]);
        let samples = passage.samples(RATE);
        assert_eq!(samples.len(), 48_000 * 73 / 100);
        let quiet = &samples[48_000 * 23 / 100..24_000];
        assert!(quiet.iter().all(|sample| *sample == 0.0), "between two notes nothing sounds");
        let loudest = |range: std::ops::Range<usize>| {
            samples[range].iter().fold(0.0_f32, |most, sample| most.max(sample.abs()))
        };
        let (hard, soft) = (loudest(0..2_400), loudest(24_000..26_400));
        assert!(soft > 0.0 && (hard / soft - 3.94).abs() < 0.1, "{hard} {soft}");
        assert!(loudest(7_000..9_600) < hard / 2.0, "it dies away");
    }

    #[test]
    fn strange_pitches_and_times_are_no_trouble() {
        for number in [0, 1, 126, 127] {
            let pitch = Pitch::new(number).unwrap();
            let passage = Passage(vec![Pluck { at: 0, lasts: 0, pitch, velocity: 1 }]);
            assert!(passage.samples(8_000).iter().all(|sample| sample.is_finite()));
        }
        assert!(Passage::default().samples(RATE).is_empty());
        let late = (Offset::from_micros(i32::MAX), u64::MAX, Pitch::new(60).unwrap(), 0);
        let first = (Offset::from_micros(-5), 1, Pitch::new(60).unwrap(), 200);
        let passage = Passage::of([first, late].into_iter());
        assert_eq!(passage.notes().len(), 1, "five minutes are enough");
    }
}
