//! What the clicks and cues sound like: short tones that die away, reckoned and not recorded.

use evenhand_core::verdict::Outcome;
use std::f64::consts::TAU;

/// A sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Voice {
    /// The click on the first beat of a bar.
    Strong,
    /// The click on another beat.
    Weak,
    /// The cue for an attempt that passed: it rises, a short tone and a long one.
    Passed,
    /// The cue for an attempt that needs work: it falls, two tones of the same length.
    NeedsWork,
    /// The cue for an attempt that is unclear: the same tone twice, with a gap.
    Unclear,
}

/// All voices, in the order of their numbers.
pub(super) const ALL: [Voice; 5] =
    [Voice::Strong, Voice::Weak, Voice::Passed, Voice::NeedsWork, Voice::Unclear];

/// A tone of a voice: from when, how high, how long, how loud; in seconds and hertz, and as a
/// share of the loudest that there is.
#[derive(Clone, Copy, Debug)]
struct Tone {
    from: f64,
    hertz: f64,
    seconds: f64,
    level: f64,
    attack: f64,
}

/// A click is at its loudest at once: the ear takes the beginning for the beat.
const fn click(hertz: f64, level: f64) -> Tone {
    Tone { from: 0.0, hertz, seconds: 0.03, level, attack: 0.0 }
}

/// A cue comes in over 5 ms, so that it does not sound like a click.
const fn tone(from: f64, hertz: f64, seconds: f64) -> Tone {
    Tone { from, hertz, seconds, level: 0.3, attack: 0.005 }
}

impl Voice {
    /// The cue for this outcome.
    pub const fn cue(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Passed => Self::Passed,
            Outcome::NeedsWork => Self::NeedsWork,
            Outcome::Unclear => Self::Unclear,
        }
    }

    /// All numbers are our defaults. Clicks are short and high, so that they stand out of a
    /// guitar without being loud; cues are long and lie between, two fifths (3/2) apart in opposite
    /// directions. The loudest click and a cue together stay below the loudest that there is.
    const fn tones(self) -> &'static [Tone] {
        match self {
            Self::Strong => const { &[click(1_760.0, 0.5)] },
            Self::Weak => const { &[click(1_320.0, 0.35)] },
            Self::Passed => const { &[tone(0.0, 660.0, 0.12), tone(0.12, 990.0, 0.28)] },
            Self::NeedsWork => const { &[tone(0.0, 495.0, 0.22), tone(0.22, 330.0, 0.22)] },
            Self::Unclear => const { &[tone(0.0, 495.0, 0.1), tone(0.2, 495.0, 0.1)] },
        }
    }

    /// The whole of it as samples from −1 to 1.
    pub fn samples(self, rate: u32) -> Vec<f32> {
        let rate = f64::from(rate);
        let seconds = self.tones().iter().map(|tone| tone.from + tone.seconds).fold(0.0, f64::max);
        let mut samples = vec![0.0_f32; (seconds * rate).ceil() as usize];
        for tone in self.tones() {
            let first = (tone.from * rate).round() as usize;
            let count = (tone.seconds * rate) as usize;
            for (frame, sample) in samples.iter_mut().skip(first).take(count).enumerate() {
                *sample += tone.at(frame as f64 / rate) as f32;
            }
        }
        samples
    }
}

impl Tone {
    /// Its sample so many seconds after its beginning.
    fn at(&self, time: f64) -> f64 {
        let left = 1.0 - time / self.seconds;
        let coming = if time < self.attack { time / self.attack } else { 1.0 };
        self.level * coming * left * left * (TAU * self.hertz * time).cos()
    }
}
