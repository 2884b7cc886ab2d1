//! The pedal without its board.
//!
//! [`unit::Unit`] is the pedal with all its parts. A board brings pins ([`controls::Panel`]), bytes with
//! the time at which they arrived ([`board::Board`]), and flash ([`memory::MappedFlash`]).
//! Everything here runs, and is tested, on any computer.
#![cfg_attr(not(test), no_std)]

pub mod click;
pub mod contacts;
pub mod slot;
pub mod log_board;
#[cfg(feature = "display")]
pub mod display;
pub mod controls;
pub mod board;
pub mod result_queue;
pub mod lights;
pub mod memory;
mod mode;
pub mod music;
pub mod pedal;
#[cfg(feature = "player")]
pub mod player;
mod press;
mod progress;
pub mod ram_flash;
pub mod report;
pub mod observer;
pub mod study;
pub mod unit;

pub use pedal::Pedal;
pub use unit::Unit;
