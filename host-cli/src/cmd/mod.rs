//! One file a subcommand.

pub mod demo;
pub mod judge;
pub mod listen;
#[cfg(feature = "live")]
pub mod ports;
pub mod study;

mod output;
mod studies;
