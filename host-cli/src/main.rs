//! The program `evenhand`. All it does is in the library; here it only starts and ends.

use clap::Parser;
use evenhand::args::Cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = Cli::parse();
    match evenhand::run(&cli) {
        Ok(exit) => exit.into(),
        Err(fault) => {
            eprintln!("evenhand: {fault}");
            fault.exit.into()
        }
    }
}
