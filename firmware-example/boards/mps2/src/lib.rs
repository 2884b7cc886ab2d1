//! Arm's MPS2 board as an emulator offers it: what its programs share.
#![no_std]

pub mod device;
pub mod ending;
pub mod figures;
pub mod memory;
pub mod table;
