//! WAV files read by the layout of "Multimedia Programming Interface and Data Specifications
//! 1.0" (IBM and Microsoft, 1991), not by the code under test.

/// A sound between silence below this share of full scale is one sound. Our default: cues and
/// clicks begin well above it.
const SILENT: f64 = 0.005;

/// A sound that begins this many seconds after the one before has died away is a new one.
const APART: f64 = 0.04;

/// A file's first channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Wav {
    /// Frames a second.
    pub rate: u32,
    /// Channels in the file.
    pub channels: u16,
    /// Bits a sample.
    pub bits: u16,
    /// From −1 to 1.
    pub samples: Vec<f64>,
}

impl Wav {
    /// Reads a file's content.
    ///
    /// # Panics
    /// If it is no WAV file of 16 or 32-bit PCM, or its sizes are not those of its content.
    pub fn read(content: &[u8]) -> Self {
        let half = |at: usize| u16::from_le_bytes([content[at], content[at + 1]]);
        let word = |at: usize| u32::from(half(at)) | u32::from(half(at + 2)) << 16;
        assert_eq!((&content[..4], &content[8..12]), (&b"RIFF"[..], &b"WAVE"[..]));
        assert_eq!(word(4) as usize + 8, content.len(), "the size of the whole");
        assert_eq!((&content[12..16], word(16)), (&b"fmt "[..], 16));
        assert_eq!(half(20), 1, "PCM");
        let (channels, rate, bits) = (half(22), word(24), half(34));
        let frame = channels * bits / 8;
        assert_eq!((word(28), half(32)), (rate * u32::from(frame), frame));
        assert_eq!((&content[36..40], word(40) as usize + 44), (&b"data"[..], content.len()));
        let sample = |frame: &[u8]| match *frame {
            [low, high, ..] if bits == 16 => f64::from(i16::from_le_bytes([low, high])) / 32_768.0,
            [a, b, c, d, ..] if bits == 32 => {
                f64::from(i32::from_le_bytes([a, b, c, d])) / 2_147_483_648.0
            }
            _ => panic!("{bits} bits"),
        };
        let samples = content[44..].chunks_exact(usize::from(frame)).map(sample).collect();
        Self { rate, channels, bits, samples }
    }

    /// The frames on which sounds begin.
    pub fn onsets(&self) -> Vec<usize> {
        let apart = (APART * f64::from(self.rate)) as usize;
        let mut last = None;
        let mut found = Vec::new();
        for (frame, sample) in self.samples.iter().enumerate() {
            if sample.abs() > SILENT {
                if last.is_none_or(|last| frame - last > apart) {
                    found.push(frame);
                }
                last = Some(frame);
            }
        }
        found
    }

    /// The pitch of a stretch in hertz, by counting how often it passes zero upwards.
    pub fn hertz(&self, from: usize, frames: usize) -> f64 {
        let stretch = &self.samples[from..from + frames];
        let rises = (1..frames).filter(|at| stretch[at - 1] < 0.0 && stretch[*at] >= 0.0);
        let rises: Vec<usize> = rises.collect();
        let (Some(first), Some(last)) = (rises.first(), rises.last()) else { return 0.0 };
        (rises.len() - 1) as f64 * f64::from(self.rate) / (last - first).max(1) as f64
    }

    /// The loudest sample of a stretch.
    pub fn loudest(&self, from: usize, frames: usize) -> f64 {
        self.samples[from..from + frames].iter().fold(0.0, |most: f64, s| most.max(s.abs()))
    }
}
