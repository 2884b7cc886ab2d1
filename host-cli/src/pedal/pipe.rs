//! A cable, as far as a conversation needs it.

use std::io;
use std::time::Duration;

/// Bytes both ways.
pub trait Pipe {
    /// Sends all of these bytes.
    ///
    /// # Errors
    ///
    /// If the cable broke.
    fn send(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Waits at most so long for bytes, and gives how many came; 0 is none in time.
    ///
    /// # Errors
    ///
    /// If the cable broke.
    fn receive(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize>;
}

/// How long an answer is waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Patience {
    /// Until the question is asked again.
    pub wait: Duration,
    /// How often it is asked, in all.
    pub tries: u32,
}

impl Default for Patience {
    /// Five seconds in all. Our default: a pedal that makes room in its flash is silent for
    /// some hundred milliseconds, and nobody waits for longer than this without a word.
    fn default() -> Self {
        Self { wait: Duration::from_secs(1), tries: 5 }
    }
}
