//! A pedal without a board: a store in memory, and cables that fail in every way.

mod cable;
mod lossy;
mod store;

pub use cable::{Bench, Cable};
pub use lossy::{Faults, Lossy};
pub use store::{MemoryStore, result};
