//! `evenhand manual`: manual pages, one a command.

use crate::args::Cli;
use crate::fault::{Exit, Fault};
use crate::output::path;
use clap::CommandFactory;
use std::path::Path;

/// Runs the command.
pub fn run(folder: &Path) -> Result<Exit, Fault> {
    clap_mangen::generate_to(Cli::command(), folder).map_err(|error| {
        Fault::new(Exit::Output, format!("cannot write into {}: {error}", folder.display()))
            .advise(path::advice(error.kind()))
    })?;
    Ok(Exit::Done)
}
