//! The pedal without its board.
//!
//! [`Pedal`] takes feet and notes, and gives lamps, clicks and results; a board brings pins
//! ([`feet::Panel`]), bytes with the time at which they arrived ([`floor::Floor`]), and somewhere
//! for what it is told ([`room::Room`]). Everything here runs, and is tested, on any computer.
#![cfg_attr(not(test), no_std)]

pub mod built_in;
pub mod contacts;
pub mod desk;
pub mod diary;
pub mod feet;
pub mod floor;
pub mod lights;
pub mod music;
pub mod pedal;
#[cfg(feature = "player")]
pub mod performer;
pub mod practice;
mod progress;
pub mod report;
pub mod room;
pub mod script;
mod state;
pub mod study;

pub use pedal::Pedal;
pub use practice::{Heard, Input, practise};
