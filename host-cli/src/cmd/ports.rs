//! `evenhand ports`: lists the MIDI inputs of this computer.

use super::output::Output;
use crate::args::OutputArgs;
use crate::fault::{Exit, Fault};
use crate::live::choose::choose;
use crate::{live, settings};

/// Runs the command.
pub fn run() -> Result<Exit, Fault> {
    let listed = live::list()?;
    let mut output =
        Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })?;
    if listed.is_empty() {
        output.say("No MIDI input. Plug in the pickup, and look again.")?;
        return Ok(Exit::Done);
    }
    for port in &listed {
        output.say(&port.name)?;
    }
    let remembered = settings::remembered_port()?;
    output.say("")?;
    output.say(&match choose(&listed, None, remembered.as_deref()) {
        Ok(port) => format!("`evenhand listen STUDY` takes “{}”.", port.lasting_name()),
        Err(why) => format!("`evenhand listen STUDY` needs --port NAME: {why}."),
    })?;
    Ok(Exit::Done)
}
