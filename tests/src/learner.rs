//! A simulated learner: the faster, the less often clean.

use crate::seeded::Seeded;
use evenhand_core::practice::AttemptResult;
use evenhand_core::units::{Tempo, Ticks};

/// The beat in which this learner's tempi are counted.
pub const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

/// Someone whose attempts are clean by chance, the less often the faster: with probability
/// 1 / (1 + (tempo / even)^steepness), which is logistic in the logarithm of the tempo.
#[derive(Clone, Debug)]
pub struct Learner {
    /// The tempo, in beats a minute, at which every other attempt is clean.
    pub even: f64,
    /// How quickly it gets too fast.
    pub steepness: f64,
    chance: Seeded,
}

impl Learner {
    /// A learner of this seed.
    pub fn new(even: f64, steepness: f64, seed: u64) -> Self {
        Self { even, steepness, chance: Seeded::new(seed) }
    }

    /// How probably an attempt at so many beats a minute is clean.
    pub fn probability(&self, beats: f64) -> f64 {
        1.0 / (1.0 + (beats / self.even).powf(self.steepness))
    }

    /// Plays once.
    pub fn play(&mut self, tempo: Tempo) -> bool {
        let probability = self.probability(beats(tempo));
        self.chance.chance(probability)
    }

    /// Plays once, as practice hears it.
    pub fn heard(&mut self, tempo: Tempo) -> AttemptResult {
        if self.play(tempo) { AttemptResult::Clean } else { AttemptResult::NotClean }
    }
}

/// Beats a minute.
pub fn beats(tempo: Tempo) -> f64 {
    f64::from(tempo.hundredths_of_beats_per_minute(BEAT)) / 100.0
}
