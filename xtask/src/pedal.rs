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

/// What an image has beside what every pedal has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct With {
    /// A display.
    pub display: bool,
    /// The click on a MIDI output.
    pub midi_click: bool,
    /// Messages for a debug probe.
    pub messages: bool,
}

impl With {
    /// Nothing.
    pub const NOTHING: Self = Self { display: false, midi_click: false, messages: false };
    /// All of it.
    pub const ALL: Self = Self { display: true, midi_click: true, messages: true };

    /// The parts that somebody names.
    pub fn named(parts: &[&str]) -> Result<Self, Stop> {
        let mut with = Self::NOTHING;
        for part in parts {
            match *part {
                "display" => with.display = true,
                "midi-click" => with.midi_click = true,
                other => {
                    return Err(Stop::Usage(format!(
                        "There is no part `{other}`; there are `display` and `midi-click`."
                    )));
                }
            }
        }
        Ok(with)
    }

    /// Features of the package; each is also in the name of the image.
    fn features(self) -> impl Iterator<Item = &'static str> {
        let all =
            [(self.display, "display"), (self.midi_click, "midi-click"), (self.messages, "defmt")];
        all.into_iter().filter_map(|(wanted, name)| wanted.then_some(name))
    }
}

/// The image that every run of the checks builds, and whose size is kept: the smaller board's.
pub const BUILT: (Board, With) = (BOARDS[0], With::NOTHING);
/// What `cargo xtask embedded build` has the compiler look at beside that, without making code of it.
const CHECKED: (Board, With) = (BOARDS[1], With::ALL);

/// Which messages an image for a probe has is settled when it is built; without this variable
/// there would be errors only.
const LOG_VARIABLE: &str = "DEFMT_LOG";
/// Unless somebody has set it. Our default: each verdict is a message of this level.
const LOG: &str = "info";

/// Builds the emulated pedal and runs a whole practice on it, with a simulated player.
pub fn run() -> Result<(), Stop> {
    machine::provide(&[EMULATOR], Password::MayAsk)?;
    emulator::run(&embedded::build_image(embedded::EMULATED)?, emulator::PATIENCE)?.show()
}

/// Builds the pedal for all boards.
pub fn build(with: With) -> Result<(), Stop> {
    BOARDS.into_iter().try_for_each(|board| board.build(with).map(|_| ()))
}

/// Builds the image whose size is kept.
pub fn build_kept() -> Result<(), Stop> {
    BUILT.0.build(BUILT.1).map(|_| ())
}

/// The same, and checks the other board with all parts.
pub fn build_and_check() -> Result<(), Stop> {
    build_kept()?;
    CHECKED.0.compile(CHECKED.1, embedded::Aim::Check).map(|_| ())
}

/// Builds the pedal for all boards and writes each as a UF2 file.
pub fn write_uf2(with: With) -> Result<(), Stop> {
    BOARDS.into_iter().try_for_each(|board| board.write_uf2(with).map(|_| ()))
}

/// The same with the image whose size is kept. Where it stands then.
pub fn write_kept_uf2() -> Result<PathBuf, Stop> {
    BUILT.0.write_uf2(BUILT.1)
}

impl Board {
    /// Where its image stands, whether or not it has been built. Each way of making it has a file
    /// of its own, so that nobody takes one for the other.
    pub fn image(self, with: With) -> PathBuf {
        let features: String = with.features().map(|feature| format!("-{feature}")).collect();
        places::pedal_images().join(format!("evenhand-pedal-{}{features}.elf", self.name))
    }

    fn build(self, with: With) -> Result<PathBuf, Stop> {
        let way = self.compile(with, embedded::Aim::Build)?;
        let image = self.image(with);
        let folder = places::pedal_images();
        std::fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
        std::fs::copy(way.image(self.target, PACKAGE), &image).map_err(Stop::file(&image))?;
        Ok(image)
    }

    fn write_uf2(self, with: With) -> Result<PathBuf, Stop> {
        let image = self.build(with)?;
        let bytes = std::fs::read(&image).map_err(Stop::file(&image))?;
        let unfit = |error: &dyn std::fmt::Display| Stop::Failed {
            what: format!("{}: {error}", image.display()),
            code: 1,
        };
        let size = elf::footprint(&bytes).map_err(|error| unfit(&error))?;
        let uf2 = uf2::of_image(&bytes, self.family).map_err(|error| unfit(&error))?;
        let file = image.with_extension("uf2");
        std::fs::write(&file, uf2).map_err(Stop::file(&file))?;
        say(&format!("{}: {size}", file.display()));
        Ok(file)
    }

    fn compile(self, with: With, aim: embedded::Aim) -> Result<embedded::Way, Stop> {
        let way = embedded::find(self.target)?;
        let features: Vec<&str> = [self.name].into_iter().chain(with.features()).collect();
        let what = format!("{PACKAGE} for {}", features.join(", "));
        eprintln!("{what}: {}", way.describe());
        let mut build = way.run(aim, self.target, &places::pico());
        build.args(["--features", &features.join(",")]);
        if with.messages {
            build.env(LOG_VARIABLE, std::env::var_os(LOG_VARIABLE).unwrap_or(LOG.into()));
        }
        process::run(&what, &mut build)?;
        Ok(way)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_way_of_making_an_image_has_a_file_of_its_own() {
        let [board, other] = BOARDS;
        let names: Vec<_> = [With::NOTHING, With::ALL, With::named(&["display"]).unwrap()]
            .into_iter()
            .flat_map(|with| [board.image(with), other.image(with)])
            .collect();
        for (index, name) in names.iter().enumerate() {
            assert!(!names[..index].contains(name), "{}", name.display());
        }
        assert!(names[0].ends_with("evenhand-pedal-rp2040.elf"), "{names:?}");
    }

    #[test]
    fn a_part_that_there_is_not_is_said() {
        let stop = With::named(&["display", "trumpet"]).expect_err("there is none");
        assert_eq!(stop.code(), 2);
        assert!(stop.to_string().contains("`trumpet`"), "{stop}");
    }
}
