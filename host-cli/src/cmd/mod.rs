//! One file a subcommand.

pub mod demo;
pub mod doctor;
pub mod judge;
pub mod listen;
#[cfg(feature = "live")]
pub mod ports;
pub mod study;

mod line;
mod output;
mod studies;
