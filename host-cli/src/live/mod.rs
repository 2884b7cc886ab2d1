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
mod told;

#[cfg(feature = "live")]
pub use output::outputs;
#[cfg(feature = "live")]
pub use port::port;
pub use raw::raw;
#[cfg(feature = "live")]
pub use system::{SYSTEM, list};
pub use told::told;

use crate::stop;
use evenhand_core::units::Instant;
use std::cell::{Cell, RefCell};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

/// What a source hands on.
#[derive(Debug)]
pub enum SourceEvent {
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
    heard: Receiver<SourceEvent>,
    clock: Clock,
    /// What has been read, but was put back or on the stream's own clock is not due yet.
    ahead: RefCell<Option<SourceEvent>>,
    is_pipe: bool,
    /// The port, as long as the source lives.
    #[cfg(feature = "live")]
    held: Option<port::PortGuard>,
}

/// What tells a source its time.
enum Clock {
    /// This computer's clock, since then.
    Running(std::time::Instant),
    /// The stream itself.
    Told(Cell<Instant>),
}

impl Source {
    fn new(name: String, heard: Receiver<SourceEvent>, start: std::time::Instant) -> Self {
        Self::timed(name, heard, Clock::Running(start))
    }

    fn timed(name: String, heard: Receiver<SourceEvent>, clock: Clock) -> Self {
        Self {
            name,
            heard,
            clock,
            ahead: RefCell::new(None),
            is_pipe: false,
            #[cfg(feature = "live")]
            held: None,
        }
    }

    #[cfg(unix)]
    fn of_a_pipe(self) -> Self {
        Self { is_pipe: true, ..self }
    }

    /// Whether it is a FIFO, which programs write to.
    pub const fn is_pipe(&self) -> bool {
        self.is_pipe
    }

    /// Whether it is a MIDI port of the system.
    pub const fn is_port(&self) -> bool {
        #[cfg(feature = "live")]
        return self.held.is_some();
        #[cfg(not(feature = "live"))]
        return false;
    }

    /// The next piece, or a time-out. `Disconnected` is the end of the stream.
    pub fn next(&self, wait: Duration) -> Result<SourceEvent, RecvTimeoutError> {
        match &self.clock {
            Clock::Running(_) => {
                self.ahead.take().map_or_else(|| self.heard.recv_timeout(wait), Ok)
            }
            Clock::Told(now) => self.next_told(now, wait),
        }
    }

    /// The next piece, or a time-out when something is due. On this computer's clock it is also
    /// time to [look](stop::LOOK) around now and then; a stream that tells the time passes over a
    /// silence in one step, however long it is.
    pub fn next_due(&self, due: Option<Duration>) -> Result<SourceEvent, RecvTimeoutError> {
        let longest = match &self.clock {
            Clock::Running(_) => stop::LOOK,
            Clock::Told(_) => Duration::MAX,
        };
        self.next(due.unwrap_or(longest).min(longest))
    }

    /// The same where the stream tells the time: it goes on by `wait` only if nothing comes
    /// until then, and stands still while the stream says nothing.
    fn next_told(
        &self,
        now: &Cell<Instant>,
        wait: Duration,
    ) -> Result<SourceEvent, RecvTimeoutError> {
        let ahead = self.ahead.take();
        let heard = ahead.map_or_else(|| self.heard.recv_timeout(stop::LOOK), Ok)?;
        let SourceEvent::Bytes { at, .. } = heard else { return Ok(heard) };
        let wait = u64::try_from(wait.as_micros()).unwrap_or(u64::MAX);
        let due = Instant::from_micros(now.get().as_micros().saturating_add(wait));
        if at > due {
            now.set(due);
            self.ahead.replace(Some(heard));
            return Err(RecvTimeoutError::Timeout);
        }
        now.set(now.get().max(at));
        Ok(heard)
    }

    /// Puts back what was not needed, to be the next piece.
    pub fn put_back(&self, heard: SourceEvent) {
        self.ahead.replace(Some(heard));
    }

    /// What time it is on the source's clock.
    pub fn now(&self) -> Instant {
        match &self.clock {
            Clock::Running(start) => since(*start),
            Clock::Told(now) => now.get(),
        }
    }

    /// When the source's clock started, on this computer's; none where the stream tells the time.
    pub const fn started(&self) -> Option<std::time::Instant> {
        match &self.clock {
            Clock::Running(start) => Some(*start),
            Clock::Told(_) => None,
        }
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
