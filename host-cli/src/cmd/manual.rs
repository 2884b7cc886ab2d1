//! `evenhand manual`: manual pages, one a command.

use super::output_path;
use crate::args::Cli;
use crate::fault::{Exit, Fault};
use clap::CommandFactory;
use std::path::Path;

/// Runs the command.
pub fn run(folder: &Path) -> Result<Exit, Fault> {
    clap_mangen::generate_to(Cli::command(), folder).map_err(|error| {
        Fault::new(Exit::Output, format!("cannot write into {}: {error}", folder.display()))
            .advise(output_path::advice(error.kind()))
    })?;
    Ok(Exit::Done)
}
