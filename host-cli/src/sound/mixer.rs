//! Voices into samples, each from its own frame on.

use super::Voice;
use std::collections::BTreeMap;

/// A voice that sounds from some frame on.
#[derive(Clone, Debug)]
struct Sounding {
    voice: Voice,
    from: u64,
}

/// Puts voices where they belong, to the frame, whatever the size of the pieces asked for.
#[derive(Debug)]
pub struct Mixer {
    /// All voices, made before anything sounds: where samples are asked for nothing may take long.
    made: BTreeMap<u8, Vec<f32>>,
    sounding: Vec<Sounding>,
    frame: u64,
}

/// Voices that are planned or sound at once, at most; what comes beyond is not heard.
const MOST: usize = 256;

impl Mixer {
    /// Silence, at so many frames a second.
    pub fn new(rate: u32) -> Self {
        let all =
            [Voice::Strong, Voice::Weak, Voice::Passed, Voice::NeedsWork, Voice::Unclear];
        let made = all.into_iter().map(|voice| (voice as u8, voice.samples(rate))).collect();
        Self { made, sounding: Vec::with_capacity(MOST), frame: 0 }
    }

    /// The frame that comes next.
    pub const fn frame(&self) -> u64 {
        self.frame
    }

    /// Plans a voice from a frame on. What should have begun begins at once.
    pub fn plan(&mut self, voice: Voice, from: u64) {
        if self.sounding.len() < MOST {
            self.sounding.push(Sounding { voice, from: from.max(self.frame) });
        }
    }

    /// Forgets what has not begun yet.
    pub fn hush(&mut self) {
        let now = self.frame;
        self.sounding.retain(|sounding| sounding.from < now);
    }

    /// The next samples, the same for each of `channels`.
    pub fn fill(&mut self, out: &mut [f32], channels: usize) {
        out.fill(0.0);
        let channels = channels.max(1);
        let frames = (out.len() / channels) as u64;
        let (now, made) = (self.frame, &self.made);
        self.sounding.retain(|sounding| {
            let Some(samples) = made.get(&(sounding.voice as u8)) else { return false };
            let begin = sounding.from.max(now);
            let end = (sounding.from + samples.len() as u64).min(now + frames);
            for frame in begin..end {
                let sample = samples[(frame - sounding.from) as usize];
                let at = (frame - now) as usize * channels;
                for out in &mut out[at..at + channels] {
                    *out += sample;
                }
            }
            sounding.from + samples.len() as u64 > now + frames
        });
        for sample in out.iter_mut() {
            *sample = sample.clamp(-1.0, 1.0);
        }
        self.frame += frames;
    }
}
