//! A pedal without a board: a store in memory, and cables that fail in every way.

#[cfg(target_os = "linux")]
mod cable;
mod lossy;
mod store;

#[cfg(target_os = "linux")]
pub use cable::{Bench, Cable, terminals};
pub use lossy::{Faults, Lossy};
pub use store::{MemoryStore, result};
