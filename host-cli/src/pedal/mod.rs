//! A pedal on a cable: what it holds, studies to it, results from it.
//!
//! The protocol is the core's ([`evenhand_core::link`], `docs/pedal-link.md`); here are the
//! cable, the patience, and what is made of the answers. Nothing here writes to the user.

mod fetched;
mod pipe;
mod serial;
mod talk;

pub use fetched::{Batch, Names, TimeSource, batches};
pub use pipe::{Patience, Pipe};
pub use serial::open;
pub use talk::{Fetched, LinkError, Loaded, OnPedal, Pedal, WhoItIs};
