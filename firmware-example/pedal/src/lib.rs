//! The pedal without its board.
//!
//! [`unit::Unit`] is the pedal with all its parts. A board brings pins ([`feet::Panel`]), bytes with
//! the time at which they arrived ([`floor::Floor`]), and flash ([`memory::MappedFlash`]).
//! Everything here runs, and is tested, on any computer.
#![cfg_attr(not(test), no_std)]
#![forbid(unsafe_code)]

pub mod click;
pub mod contacts;
pub mod diary;
#[cfg(feature = "display")]
pub mod display;
pub mod feet;
pub mod floor;
pub mod keeper;
pub mod lights;
pub mod memory;
mod mode;
pub mod music;
pub mod pedal;
#[cfg(feature = "player")]
pub mod performer;
mod press;
mod progress;
pub mod ram_flash;
pub mod report;
pub mod room;
pub mod study;
pub mod unit;

pub use pedal::Pedal;
pub use unit::Unit;
