//! Samples into a WAV file: 16-bit PCM on one channel.
//!
//! The layout is that of "Multimedia Programming Interface and Data Specifications 1.0" (IBM and
//! Microsoft, 1991): a RIFF file of the form WAVE with a chunk `fmt ` and a chunk `data`.

use super::{ClickTrack, Mixer, Voice, frame};
use evenhand_core::verdict::Outcome;
use std::io::{self, Write};

/// Frames a second of what is written.
pub const RATE: u32 = 48_000;

/// Silence before the first beat, in frames: a tenth of a second, so that a player that fades in
/// does not swallow it. Our default.
pub const LEAD: u64 = 4_800;

/// Each cue has this many frames to itself: a second. Our default.
pub const CUE: u64 = 48_000;

/// The longest that is written, in frames: an hour. Our default.
pub const LONGEST: u64 = 3_600 * RATE as u64;

/// Bytes a sample.
const BYTES: u16 = 2;

/// Frames that are made in one go. Our default.
const PIECE: u64 = 4_096;

/// What is written: so many beats of a click, then cues.
#[derive(Clone, Debug)]
pub struct Piece<'p> {
    /// The click.
    pub click: ClickTrack,
    /// How many beats of it, with the count-in.
    pub beats: u32,
    /// Cues that follow it.
    pub cues: &'p [Outcome],
}

impl Piece<'_> {
    /// How many frames it has.
    pub fn frames(&self) -> u64 {
        self.cue_frame(self.cues.len())
    }

    /// The frame on which a beat begins.
    pub fn beat_frame(&self, beat: u32) -> u64 {
        LEAD.saturating_add(frame(&self.click, beat, RATE))
    }

    /// The frame on which a cue begins.
    pub fn cue_frame(&self, cue: usize) -> u64 {
        self.beat_frame(self.beats).saturating_add(CUE.saturating_mul(cue as u64))
    }

    /// Writes it. The sizes are known before, so it can go into a pipe.
    pub fn write(&self, out: &mut impl Write) -> io::Result<()> {
        let frames = self.frames().min(LONGEST);
        write_head(out, frames)?;
        let mut mixer = Mixer::new(RATE);
        mixer.start(self.click, LEAD);
        let last = self.beat_frame(self.beats);
        write_until(out, &mut mixer, last.min(frames))?;
        mixer.stop();
        for (index, outcome) in self.cues.iter().enumerate() {
            mixer.cue(Voice::cue(*outcome));
            write_until(out, &mut mixer, self.cue_frame(index + 1).min(frames))?;
        }
        Ok(())
    }
}

/// Writes samples, with the same silence before them; see [`LEAD`].
pub fn write_samples(out: &mut impl Write, samples: Vec<f32>) -> io::Result<()> {
    let frames = LEAD.saturating_add(samples.len() as u64).min(LONGEST);
    write_head(out, frames)?;
    let mut mixer = Mixer::new(RATE);
    mixer.play(samples.into(), LEAD);
    write_until(out, &mut mixer, frames)
}

fn write_head(out: &mut impl Write, frames: u64) -> io::Result<()> {
    let too_long = |_| io::Error::new(io::ErrorKind::InvalidInput, "too long for a WAV file");
    let data = u32::try_from(frames * u64::from(BYTES)).map_err(too_long)?;
    out.write_all(b"RIFF")?;
    // What follows it: the rest of the head, and the samples.
    out.write_all(&data.saturating_add(36).to_le_bytes())?;
    out.write_all(b"WAVEfmt ")?;
    out.write_all(&16_u32.to_le_bytes())?;
    // PCM, on one channel.
    out.write_all(&1_u16.to_le_bytes())?;
    out.write_all(&1_u16.to_le_bytes())?;
    out.write_all(&RATE.to_le_bytes())?;
    out.write_all(&(RATE * u32::from(BYTES)).to_le_bytes())?;
    out.write_all(&BYTES.to_le_bytes())?;
    out.write_all(&(8 * BYTES).to_le_bytes())?;
    out.write_all(b"data")?;
    out.write_all(&data.to_le_bytes())
}

fn write_until(out: &mut impl Write, mixer: &mut Mixer, end: u64) -> io::Result<()> {
    let mut samples = vec![0.0_f32; PIECE as usize];
    while mixer.frame() < end {
        let frames = (end - mixer.frame()).min(PIECE) as usize;
        let piece = &mut samples[..frames];
        mixer.fill(piece, 1);
        let bytes: Vec<u8> = piece.iter().flat_map(|sample| level(*sample).to_le_bytes()).collect();
        out.write_all(&bytes)?;
    }
    Ok(())
}

fn level(sample: f32) -> i16 {
    (sample * f32::from(i16::MAX)).round() as i16
}
