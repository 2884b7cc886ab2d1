//! The pedal without its board.
//!
//! [`unit::Unit`] is the pedal with all its parts. A board brings pins ([`controls::Panel`]), bytes with
//! the time at which they arrived ([`board::Board`]), and flash ([`memory::MappedFlash`]).
//! Everything here runs, and is tested, on any computer.
#![cfg_attr(not(test), no_std)]
#![forbid(unsafe_code)]

pub mod board;
pub mod click;
pub mod contacts;
pub mod controls;
#[cfg(feature = "display")]
pub mod display;
pub mod lights;
pub mod log_board;
pub mod memory;
mod mode;
pub mod music;
pub mod observer;
pub mod pedal;
mod press;
mod progress;
pub mod ram_flash;
pub mod report;
pub mod result_queue;
#[cfg(feature = "player")]
pub mod simulated_player;
pub mod study;
pub mod thinning;
pub mod through;
pub mod unit;

pub use pedal::Pedal;
pub use unit::Unit;
