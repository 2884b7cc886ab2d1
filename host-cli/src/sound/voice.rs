//! What the clicks and cues sound like: short tones that die away, reckoned and not recorded.

/// A sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// The click on the first beat of a bar.
    Strong,
    /// The click on another beat.
    Weak,
    /// The cue for an attempt that passed: two tones up.
    Passed,
    /// The cue for an attempt that needs work: one low tone.
    NeedsWork,
    /// The cue for an attempt that is unclear: the same tone twice.
    Unclear,
}

/// A tone of a voice: from when, how high, how long, in seconds and hertz. Clicks are short and
/// high, so that they stand out of a guitar without being loud; all numbers are our defaults.
#[derive(Clone, Copy, Debug)]
struct Tone {
    from: f64,
    hertz: f64,
    seconds: f64,
    level: f64,
}

const fn tone(from: f64, hertz: f64, seconds: f64, level: f64) -> Tone {
    Tone { from, hertz, seconds, level }
}

impl Voice {
    const fn tones(self) -> &'static [Tone] {
        match self {
            Self::Strong => const { &[tone(0.0, 1_760.0, 0.03, 0.5)] },
            Self::Weak => const { &[tone(0.0, 1_320.0, 0.03, 0.35)] },
            Self::Passed => const { &[tone(0.0, 660.0, 0.14, 0.3), tone(0.14, 990.0, 0.2, 0.3)] },
            Self::NeedsWork => const { &[tone(0.0, 330.0, 0.3, 0.35)] },
            Self::Unclear => const { &[tone(0.0, 495.0, 0.1, 0.3), tone(0.18, 495.0, 0.1, 0.3)] },
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
                let time = frame as f64 / rate;
                let left = 1.0 - time / tone.seconds;
                // It starts at its loudest: the ear takes the beginning for the beat.
                let wave = (std::f64::consts::TAU * tone.hertz * time).cos();
                *sample += (tone.level * left * left * wave) as f32;
            }
        }
        samples
    }
}
