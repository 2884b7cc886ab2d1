//! `cargo xtask rig …`: live input, sound and a pitch-to-MIDI converter, tried without hardware.

pub mod alsa;
pub mod converter;
pub mod jack;
pub mod sound;
