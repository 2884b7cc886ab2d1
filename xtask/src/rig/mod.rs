//! `cargo xtask rig …`: live input tried without hardware.

pub mod alsa;
pub mod jack;
