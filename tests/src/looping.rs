//! A player who loops the small bundled study into a pipe or a FIFO, faster than anyone plays,
//! so that attempts follow each other closely.

use crate::run::bundled;
use crate::seeded::Seeded;
use std::io::{self, Write};
use std::thread;
use std::time::Duration;

/// Pitches of the study's only chunk, “Eight steps”.
const PITCHES: [u8; 8] = [43, 45, 47, 48, 50, 52, 54, 55];

/// How many notes an attempt has.
pub const NOTES: usize = PITCHES.len();

/// The study that is looped, as an argument.
pub fn study() -> String {
    bundled("studies/small.study")
}

/// The player.
#[derive(Debug)]
pub struct Looping {
    seeded: Seeded,
    gap: Duration,
}

impl Looping {
    /// A player who leaves this much time between two notes.
    pub fn new(seed: u64, gap: Duration) -> Self {
        Self { seeded: Seeded::new(seed), gap }
    }

    /// Plays the chunk once.
    ///
    /// # Errors
    ///
    /// If nobody reads.
    pub fn attempt(&mut self, to: &mut dyn Write) -> io::Result<()> {
        for pitch in PITCHES {
            let velocity = self.seeded.between(72, 88) as u8;
            to.write_all(&[0x90, pitch, velocity])?;
            to.flush()?;
            thread::sleep(self.gap);
            to.write_all(&[0x80, pitch, 64])?;
            to.flush()?;
        }
        Ok(())
    }
}
