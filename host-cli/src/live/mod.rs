//! Live input: bytes with the time they came.
//!
//! A source reads in a thread of its own and does nothing there but stamp and hand on.

#[cfg(feature = "live")]
mod anchor;
#[cfg(feature = "live")]
pub mod choose;
#[cfg(feature = "live")]
pub(crate) mod output;
#[cfg(feature = "live")]
mod overruns;
#[cfg(feature = "live")]
mod port;
mod raw;
#[cfg(feature = "live")]
mod system;

#[cfg(feature = "live")]
pub use port::port;
pub use raw::raw;
#[cfg(feature = "live")]
pub use system::{SYSTEM, list};

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
    /// Something happened to the line itself.
    Changed(Change),
    /// The source broke off with this error. Nothing comes after it.
    Broke(String),
}

/// What can happen to a line that goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The pickup is away. It is waited for.
    Gone,
    /// It is back.
    Back,
    /// Messages came faster than they could be taken, and so many are lost; the MIDI system does
    /// not always say how many.
    Lost(Option<u32>),
}

/// A live source.
pub struct Source {
    /// What to call it.
    pub name: String,
    heard: Receiver<Heard>,
    start: std::time::Instant,
    /// The port, as long as the source lives.
    #[cfg(feature = "live")]
    held: Option<port::Hold>,
}

impl Source {
    fn new(name: String, heard: Receiver<Heard>, start: std::time::Instant) -> Self {
        Self {
            name,
            heard,
            start,
            #[cfg(feature = "live")]
            held: None,
        }
    }

    /// Whether it is a MIDI port of the system.
    pub const fn is_port(&self) -> bool {
        #[cfg(feature = "live")]
        return self.held.is_some();
        #[cfg(not(feature = "live"))]
        return false;
    }

    /// The next piece, or a time-out. `Disconnected` is the end of the stream.
    pub fn next(&self, wait: Duration) -> Result<Heard, RecvTimeoutError> {
        self.heard.recv_timeout(wait)
    }

    /// What time it is on the source's clock.
    pub fn now(&self) -> Instant {
        since(self.start)
    }

    /// The start of the source's clock.
    pub const fn start(&self) -> std::time::Instant {
        self.start
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
