//! One file a subcommand.

pub mod calibrate;
pub mod click;
pub mod completions;
pub mod demo;
pub mod doctor;
pub mod footswitch;
pub mod history;
pub mod judge;
pub mod listen;
pub mod manual;
pub mod pack;
pub mod pedal;
#[cfg(feature = "live")]
pub mod ports;
pub mod practice;
pub mod record;
pub mod study;
pub mod today;
