//! `cargo xtask pedal`: the pedal, emulated or for a board.

use crate::machine::{self, EMULATOR, Password};
use crate::process::Stop;
use crate::{embedded, emulator};

/// Builds the emulated pedal and runs a whole practice on it, with a simulated player.
pub fn run() -> Result<(), Stop> {
    machine::provide(&[EMULATOR], Password::MayAsk)?;
    embedded::build_image(embedded::EMULATED)?;
    let image = embedded::pedal_image()?;
    emulator::run(&image, emulator::PATIENCE)?.show()
}
