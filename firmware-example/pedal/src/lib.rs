//! The pedal without its board.
//!
//! A board brings an [`Input`] that yields bytes with the time at which they arrived, and
//! something to write to; everything else is here and runs, and is tested, on any computer.
#![no_std]

pub mod built_in;
pub mod practice;
pub mod report;
pub mod script;

pub use practice::{Heard, Input, practise};
