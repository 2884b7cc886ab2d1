//! `evenhand manual`: manual pages, one a command.

use super::place;
use crate::args::Cli;
use crate::fault::{Exit, Fault};
use clap::CommandFactory;
use std::path::Path;

/// Runs the command.
pub fn run(folder: &Path) -> Result<Exit, Fault> {
    clap_mangen::generate_to(Cli::command(), folder).map_err(|error| {
        Fault::new(Exit::Output, format!("cannot write into {}: {error}", folder.display()))
            .advise(place::advice(error.kind()))
    })?;
    Ok(Exit::Done)
}
