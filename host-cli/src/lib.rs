//! The program `evenhand` as a library: studies and recordings in, verdicts out.
//!
//! The judge itself is [`evenhand_core`]; this crate adds files, live input, clocks and
//! words. One file a subcommand, in [`cmd`].

#![deny(clippy::print_stdout, clippy::print_stderr, clippy::disallowed_methods)]

pub mod args;
pub mod calibrate;
pub mod channels;
pub mod cmd;
pub mod days;
pub mod disputes;
pub mod events;
pub mod export;
pub mod fault;
pub mod import;
mod in_common;
pub mod listening;
pub mod live;
pub mod log;
pub mod marks;
mod output;
pub mod pedal;
pub mod pickup;
pub mod practice;
pub mod private;
pub mod read;
pub mod report;
pub mod say;
pub mod score;
pub mod screen;
pub mod settings;
mod sitting;
pub mod smf;
pub mod sound;
pub mod speech;
pub mod stop;
mod studies;
pub mod study;
pub mod switches;
pub mod visible;
pub mod whole_file;
mod wrap;

use args::{Cli, Command};
use fault::{Exit, Fault};

/// Runs a command line.
pub fn run(cli: &Cli) -> Result<Exit, Fault> {
    match &cli.command {
        Command::Demo(args) => cmd::demo::run(args),
        Command::Judge(args) => cmd::judge::run(args),
        Command::Practice(args) => cmd::practice::run(args),
        Command::Listen(args) => cmd::listen::run(args),
        Command::Record(args) => cmd::record::run(args),
        Command::Calibrate(args) => cmd::calibrate::run(args),
        Command::Footswitch(args) => cmd::footswitch::run(args),
        Command::History(args) => cmd::history::run(args),
        Command::Today(args) => cmd::today::run(args),
        Command::Study(args) => cmd::study::run(args),
        Command::Doctor(args) => cmd::doctor::run(args),
        Command::Click(args) => cmd::click::run(args),
        Command::Pack(args) => cmd::pack::run(args),
        Command::Pedal(args) => cmd::pedal::run(args),
        #[cfg(feature = "live")]
        Command::Ports(args) => cmd::ports::run(args),
        Command::Completions { shell } => cmd::completions::run(*shell),
        Command::Manual { folder } => cmd::manual::run(folder),
    }
}
