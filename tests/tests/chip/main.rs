//! The pedal's image, unchanged, on an emulated RP2040: UART, switches, lamps, sounder, USB and flash, with the
//! times that a flash takes.
//!
//! Run by `cargo xtask rig chip`, which builds the image and installs the emulator. Each test prints what it
//! measured. What the emulator does not know stands in `docs/chip-rig.md`.

mod clicks;
mod emulated;
mod flash;
mod line;
mod pedal;
mod player;
mod power;
mod practice;
#[path = "../with_tools/emulated_pedal/shipped.rs"]
mod shipped;
mod trouble;
mod verdict;
