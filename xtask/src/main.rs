//! `cargo xtask COMMAND`. What each command does stands in the library.

use std::process::ExitCode;

use xtask::checks::Tier;
use xtask::machine::{self, Password};
use xtask::pedal::With;
use xtask::process::{Stop, cargo, run, say};
use xtask::{checks, demo, embedded, emulator, fuzz, lines, pedal, rig, seeds};

const HELP: &str = "\
cargo xtask COMMAND

  demo [ARGUMENTS]   build the program and run its demo
  test               run every check that a change wants, the tests last; ten minutes at most
  test --all         what takes longer, too: all seeds, the rigs, every board
  test --firmware    only what is built for other processors, and its own tests
  seeds [BASE]       try all seeds, not a sample of them: the search for faults that pass, and
                     the tables of error rates; another base gives other performances
  setup              install what `test` needs on this machine
  fixtures           make the files in fixtures/ that are generated
  notices            write THIRD-PARTY.txt, the notices of the libraries in the program
  lines              count the lines of production code
  fuzz [TARGET] [SECONDS]
                     look for inputs that break something, ten minutes a target
  rig alsa           try live input in a virtual machine, with a USB pickup that is unplugged
  rig chip           run the pedal's image on an emulated RP2040: load, practise, fetch, and
                     what goes wrong
  rig converter [--seeds N]
                     play sessions through a pitch-to-MIDI converter that is not ours to the
                     judge, and print what it says beside what is asked of it
  rig jack           try live input with a JACK server in place of hardware
  rig sound          capture the click on its way to a sound card that is not there
  pedal run          build the emulated pedal and run a whole practice on it
  pedal build [PART ...]
                     build the pedal for the boards in firmware-example/boards/pico, with the
                     parts that are named: display, midi-click
  pedal probe [PART ...]
                     the same with messages for a debug probe
  pedal uf2 [PART ...]
                     build it, and write it as files that a board takes in its boot mode
  embedded build     build the core and the firmware for their processors
  embedded size      build, and say how much flash and RAM the images take
  embedded cost      build, and count what judging costs on the smallest processor

Exit codes: 0 all went well, 2 command not understood, 3 this machine lacks something
(the message says what brings it), any other is that of the step that failed.";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match dispatch(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => {
            eprintln!("{stop}");
            // Codes that do not fit a byte are still failures.
            u8::try_from(stop.code()).map_or(ExitCode::FAILURE, ExitCode::from)
        }
    }
}

fn dispatch(arguments: &[String]) -> Result<(), Stop> {
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["demo", ..] => demo::demo(&arguments[1..]),
        ["test"] => checks::test(Tier::First),
        ["test", "--all"] => checks::test(Tier::All),
        ["test", "--firmware"] => checks::firmware(),
        ["seeds", ..] => seeds::seeds(&arguments[1..]),
        ["setup"] => setup(),
        ["fixtures"] => make("make-fixtures"),
        ["notices"] => make("make-notices"),
        ["lines"] => lines::lines(),
        ["fuzz", ..] => fuzz::fuzz(&arguments[1..]),
        ["embedded", "build"] => embedded::build_all(),
        ["embedded", "size"] => embedded::report_sizes(),
        ["embedded", "cost"] => count(),
        ["pedal", "run"] => pedal::run(),
        ["pedal", "build", parts @ ..] => pedal::build(With::named(parts)?),
        ["pedal", "probe", parts @ ..] => {
            pedal::build(With { messages: true, ..With::named(parts)? })
        }
        ["pedal", "uf2", parts @ ..] => pedal::write_uf2(With::named(parts)?),
        ["rig", "alsa"] => rig::alsa::rig(),
        ["rig", "chip"] => rig::chip::rig(),
        ["rig", "converter", words @ ..] => rig::converter::rig(words),
        ["rig", "jack"] => rig::jack::rig(),
        ["rig", "sound"] => rig::sound::rig(),
        ["help" | "--help" | "-h"] => {
            say(HELP);
            Ok(())
        }
        [] => Err(Stop::Usage(HELP.to_owned())),
        other => Err(Stop::Usage(format!("There is no command `{}`.\n\n{HELP}", other.join(" ")))),
    }
}

fn setup() -> Result<(), Stop> {
    machine::provide(&machine::FIRST, Password::MayAsk)?;
    let outside = xtask::python::provide()?;
    say(&format!("All there. Outside references: {}", outside.display()));
    Ok(())
}

/// Runs one of the programs that make files of the checkout.
fn make(program: &str) -> Result<(), Stop> {
    let mut make = cargo();
    make.args(["run", "--package", "evenhand-tests", "--bin", program]);
    run(program, &mut make)
}

fn count() -> Result<(), Stop> {
    machine::provide(&[machine::EMULATOR], Password::MayAsk)?;
    embedded::build_measured()?;
    emulator::run_counting(&embedded::cost_image()?, emulator::PATIENCE_COUNTING)?.show()
}
