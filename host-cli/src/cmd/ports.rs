//! `evenhand ports`: lists what there is to listen to, and what there is to click through.

use crate::args::{OutputArgs, PortsArgs};
use crate::fault::{Exit, Fault};
use crate::live::choose::choose;
use crate::output::Output;
use crate::sound::{SoundProblem, audio_output};
use crate::{live, settings};
use serde::Serialize;

/// A port, as a line of the stream; see `docs/events.md`.
#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum Port<'a> {
    MidiInput {
        name: &'a str,
        /// Whether it is listened to without `--port`.
        taken: bool,
    },
    MidiOutput {
        name: &'a str,
    },
    AudioOutput {
        name: Option<&'a str>,
        /// Why there is none.
        why: Option<String>,
    },
}

/// Runs the command.
pub fn run(args: &PortsArgs) -> Result<Exit, Fault> {
    let inputs = live::list()?;
    let outputs = live::outputs()?;
    let remembered = settings::remembered_port()?;
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    let taken = choose(&inputs, None, remembered.as_deref());
    for port in &inputs {
        output.say(&port.name)?;
        let taken = taken.as_ref().is_ok_and(|taken| *taken == port);
        output.record(&Port::MidiInput { name: &port.name, taken })?;
    }
    if inputs.is_empty() {
        output.say("No MIDI input. Plug in the pickup, and look again.")?;
    } else {
        output.say("")?;
        output.say(&match &taken {
            Ok(port) => format!("`evenhand listen STUDY` takes “{}”.", port.lasting_name()),
            Err(why) => format!("`evenhand listen STUDY` needs --port NAME: {why}."),
        })?;
    }
    output.say("")?;
    if outputs.is_empty() {
        output.say("No MIDI output to click on.")?;
    } else {
        output.say("MIDI outputs, to click on with --sound-port NAME:")?;
    }
    for port in &outputs {
        output.say(&port.name)?;
        output.record(&Port::MidiOutput { name: &port.name })?;
    }
    output.say("")?;
    audio(&audio_output(), &mut output)?;
    Ok(Exit::Done)
}

fn audio(found: &Result<String, SoundProblem>, output: &mut Output) -> Result<(), Fault> {
    match found {
        Ok(name) => {
            output.say(&format!("The click sounds through “{name}”."))?;
            output.record(&Port::AudioOutput { name: Some(name), why: None })
        }
        Err(problem) => {
            output.say(&format!("No sound: {problem}."))?;
            output.record(&Port::AudioOutput { name: None, why: Some(problem.to_string()) })
        }
    }
}
