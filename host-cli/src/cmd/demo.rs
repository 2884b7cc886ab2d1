//! `evenhand demo`: the bundled study and recordings of it, with several outcomes.

use super::judge::judge;
use super::output::Output;
use super::studies;
use crate::args::{DemoArgs, HEALTH};
use crate::fault::{Exit, Fault};
use crate::smf::Recording;
use evenhand_core::session::{Ends, Hearing};

/// The bundled study.
const STUDY: &str = include_str!("../../../fixtures/studies/lantern-quay.study");

/// The bundled recordings: name, content, and what is in it.
const RECORDINGS: &[(&str, &[u8], &str)] = &[];

/// Runs the command.
pub fn run(args: &DemoArgs) -> Result<Exit, Fault> {
    let chunks = studies::prepare(STUDY, "the bundled study")?;
    let mut output = Output::new(&args.output)?;
    for (name, content, what) in RECORDINGS {
        let recording = Recording::from_bytes(content, name)?;
        output.say(&output.ink().faint(&format!("{name}: {what}")))?;
        let notes: Vec<(u8, u8)> = recording.notes().collect();
        let channels = crate::channels::ChannelChoice::Auto.settle(&notes);
        let hearing = Hearing {
            channels,
            click: None,
            ends: Ends::ByItself,
        };
        judge(&chunks, &recording, hearing, name, &mut output)?;
        if output.is_closed() {
            return Ok(Exit::Done);
        }
    }
    output.say(HEALTH)?;
    Ok(output.exit())
}
