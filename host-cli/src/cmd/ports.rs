//! `evenhand ports`: lists the MIDI inputs of this computer.

use super::output::Output;
use crate::args::OutputArgs;
use crate::fault::{Exit, Fault};
use crate::live;

/// Runs the command.
pub fn run() -> Result<Exit, Fault> {
    let names = live::names()?;
    let mut output = Output::new(&OutputArgs { events: false, exit_by_verdict: false })?;
    if names.is_empty() {
        output.say("No MIDI input. Plug in the pickup, and look again.")?;
    }
    for name in names {
        output.say(&name)?;
    }
    Ok(Exit::Done)
}
