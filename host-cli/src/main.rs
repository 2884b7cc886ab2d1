//! The program `evenhand`. All it does is in the library; here it only starts and ends.

#![deny(clippy::print_stdout, clippy::print_stderr, clippy::disallowed_methods)]

use clap::Parser;
use evenhand::args::Cli;
use evenhand::say;
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return not_understood(&error),
    };
    match evenhand::run(&cli) {
        Ok(exit) => exit.into(),
        Err(fault) => {
            say::complain(&fault);
            fault.exit.into()
        }
    }
}

/// Help that was asked for, or what is wrong with the command line. That repeats what was typed, or
/// what the names of files made of it.
fn not_understood(error: &clap::Error) -> ExitCode {
    if error.use_stderr() {
        say::misunderstood(error);
    } else {
        // Our own words. A pipe that is closed wants no more of them.
        let _ = error.print();
    }
    u8::try_from(error.exit_code()).map_or(ExitCode::FAILURE, ExitCode::from)
}
