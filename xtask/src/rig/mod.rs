//! `cargo xtask rig …`: live input and sound tried without hardware.

pub mod alsa;
pub mod jack;
pub mod sound;
