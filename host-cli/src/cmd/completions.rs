//! `evenhand completions`: what a shell needs to complete the commands.

use crate::args::Cli;
use crate::fault::{Exit, Fault};
use crate::say;
use clap::CommandFactory;
use clap_complete::{Shell, generate};
use std::io::{ErrorKind, Write};

/// Runs the command.
pub fn run(shell: Shell) -> Result<Exit, Fault> {
    let mut script = Vec::new();
    generate(shell, &mut Cli::command(), "evenhand", &mut script);
    match say::out().write_all(&script) {
        // A reader that wants no more is no error.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Fault::new(Exit::Output, format!("the completions could not be written: {error}"))
                .advise("Is the disk full?"))
        }
        _ => Ok(Exit::Done),
    }
}
