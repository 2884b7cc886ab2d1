//! `cargo xtask pedal`: the pedal, emulated or for a board.

use std::path::PathBuf;

use crate::machine::{self, EMULATOR, Password};
use crate::process::{self, Stop, say};
use crate::{elf, embedded, emulator, places, uf2};

/// A board that people build.
#[derive(Clone, Copy, Debug)]
pub struct Board {
    /// Its name, as a feature of the package and of the files.
    pub name: &'static str,
    target: &'static str,
    family: u32,
}

/// All of them.
pub const BOARDS: [Board; 2] = [
    Board { name: "rp2040", target: embedded::SMALLEST, family: uf2::RP2040 },
    Board { name: "rp2350", target: embedded::RP2350, family: uf2::RP2350 },
];

const PACKAGE: &str = "evenhand-pico";

/// Builds the emulated pedal and runs a whole practice on it, with a simulated player.
pub fn run() -> Result<(), Stop> {
    machine::provide(&[EMULATOR], Password::MayAsk)?;
    embedded::build_image(embedded::EMULATED)?;
    emulator::run(&embedded::pedal_image()?, emulator::PATIENCE)?.show()
}

/// Builds the pedal for all boards; `messages` for a debug probe are left out or not.
pub fn build(messages: bool) -> Result<(), Stop> {
    BOARDS.into_iter().try_for_each(|board| board.build(messages).map(|_| ()))
}

/// Builds the pedal for all boards and writes each as a UF2 file.
pub fn write_uf2() -> Result<(), Stop> {
    for board in BOARDS {
        let image = board.build(false)?;
        let bytes = std::fs::read(&image).map_err(Stop::file(&image))?;
        let unfit = |error: &dyn std::fmt::Display| Stop::Failed {
            what: format!("{}: {error}", image.display()),
            code: 1,
        };
        let size = elf::footprint(&bytes).map_err(|error| unfit(&error))?;
        let uf2 = uf2::of_image(&bytes, board.family).map_err(|error| unfit(&error))?;
        let folder = places::root().join("target").join("pedal");
        std::fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
        let file = folder.join(format!("evenhand-pedal-{}.uf2", board.name));
        std::fs::write(&file, uf2).map_err(Stop::file(&file))?;
        say(&format!("{}: {size}", file.display()));
    }
    Ok(())
}

impl Board {
    /// Where its image stands, whether or not it has been built.
    pub fn image(self) -> Result<PathBuf, Stop> {
        Ok(embedded::find(self.target)?.image(self.target, PACKAGE))
    }

    fn build(self, messages: bool) -> Result<PathBuf, Stop> {
        let way = embedded::find(self.target)?;
        eprintln!("The pedal for {}: {}", self.name, way.describe());
        let folder = places::firmware().join("boards").join("pico");
        let mut build = way.build(self.target, &folder);
        let features = [self.name, if messages { "defmt" } else { self.name }].join(",");
        build.args(["--features", &features]);
        process::run(&format!("{PACKAGE} for {}", self.name), &mut build)?;
        Ok(way.image(self.target, PACKAGE))
    }
}
