//! `cargo xtask rig …`: live input, sound, a pitch-to-MIDI converter and the pedal's chip, tried without
//! hardware.

pub mod alsa;
pub mod chip;
pub mod converter;
pub mod jack;
pub mod sound;
