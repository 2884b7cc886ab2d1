//! The program `evenhand` as a library: studies and recordings in, verdicts out.
//!
//! The judge itself is [`evenhand_core`]; this crate adds files, live input, clocks and
//! words. One file a subcommand, in [`cmd`].

pub mod args;
pub mod channels;
pub mod cmd;
pub mod events;
pub mod fault;
pub mod listening;
pub mod live;
pub mod marks;
pub mod practice;
pub mod read;
pub mod report;
pub mod smf;
pub mod study;

use args::{Cli, Command};
use fault::{Exit, Fault};

/// Runs a command line.
pub fn run(cli: &Cli) -> Result<Exit, Fault> {
    match &cli.command {
        Command::Demo(args) => cmd::demo::run(args),
        Command::Judge(args) => cmd::judge::run(args),
        Command::Listen(args) => cmd::listen::run(args),
        Command::Study(args) => cmd::study::run(args),
        #[cfg(feature = "live")]
        Command::Ports => cmd::ports::run(),
    }
}
