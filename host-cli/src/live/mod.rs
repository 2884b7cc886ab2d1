//! Live input: bytes with the time they came.
//!
//! A source reads in a thread of its own and does nothing there but stamp and hand on.

#[cfg(feature = "live")]
mod ports;
mod raw;

#[cfg(feature = "live")]
pub use ports::{names, port};
pub use raw::raw;

use evenhand_core::units::Instant;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

/// What a source hands on.
#[derive(Debug)]
pub enum Heard {
    /// Bytes, and when they came.
    Bytes {
        /// The bytes, as they came: any piece of the stream.
        bytes: Vec<u8>,
        /// When.
        at: Instant,
    },
    /// The source broke off with this error. Nothing comes after it.
    Broke(String),
}

/// A live source.
pub struct Source {
    /// What to call it.
    pub name: String,
    heard: Receiver<Heard>,
    start: std::time::Instant,
    /// Whatever must live as long as the source does.
    #[cfg(feature = "live")]
    _held: Option<Box<dyn std::any::Any>>,
}

impl Source {
    fn new(name: String, heard: Receiver<Heard>, start: std::time::Instant) -> Self {
        Self {
            name,
            heard,
            start,
            #[cfg(feature = "live")]
            _held: None,
        }
    }

    /// The next piece, or a time-out. `Disconnected` is the end of the stream.
    pub fn next(&self, wait: Duration) -> Result<Heard, RecvTimeoutError> {
        self.heard.recv_timeout(wait)
    }

    /// What time it is on the source's clock.
    pub fn now(&self) -> Instant {
        since(self.start)
    }

    /// How long it is until `at`.
    pub fn until(&self, at: Instant) -> Duration {
        Duration::from_micros(at.as_micros().saturating_sub(self.now().as_micros()))
    }
}

/// The time on a clock that started at `start`.
fn since(start: std::time::Instant) -> Instant {
    Instant::from_micros(u64::try_from(start.elapsed().as_micros()).unwrap_or(u64::MAX))
}
