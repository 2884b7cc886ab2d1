//! MIDI inputs of the operating system.

use super::{Heard, Source, since};
use crate::fault::{Exit, Fault};
use midir::{Ignore, MidiInput};
use std::sync::mpsc::sync_channel;

/// Messages that can wait to be judged: more than a second of the densest playing.
const WAITING: usize = 4_096;

const CLIENT: &str = "evenhand";

fn input() -> Result<MidiInput, Fault> {
    let mut input = MidiInput::new(CLIENT).map_err(|error| {
        Fault::new(Exit::Live, format!("this computer's MIDI system cannot be used: {error}"))
            .advise("On Linux the ALSA sequencer is needed (module snd-seq). Raw bytes work without it: --raw PATH.")
    })?;
    // Clock and active sensing say nothing about notes, but a stream may end for them.
    input.ignore(Ignore::None);
    Ok(input)
}

/// The names of all inputs.
pub fn names() -> Result<Vec<String>, Fault> {
    let input = input()?;
    Ok(input.ports().iter().filter_map(|port| input.port_name(port).ok()).collect())
}

/// Opens the input whose name holds `wanted` (in any case); without a name the only one.
pub fn port(wanted: Option<&str>) -> Result<Source, Fault> {
    let input = input()?;
    let lower = wanted.map(str::to_lowercase);
    let mut found: Vec<_> = input
        .ports()
        .into_iter()
        .filter_map(|port| input.port_name(&port).ok().map(|name| (port, name)))
        .filter(|(_, name)| {
            lower.as_ref().is_none_or(|wanted| name.to_lowercase().contains(wanted))
        })
        .collect();
    let names: Vec<String> = found.iter().map(|(_, name)| format!("“{name}”")).collect();
    let (Some((port, name)), true) = (found.pop(), found.is_empty()) else {
        let what = match (wanted, names.len()) {
            (Some(wanted), 0) => format!("no MIDI input has “{wanted}” in its name"),
            (None, 0) => "there is no MIDI input".to_owned(),
            (_, many) => format!("{many} MIDI inputs could be meant: {}", names.join(", ")),
        };
        return Err(Fault::new(Exit::Live, what)
            .advise("`evenhand ports` lists them; choose one with --port NAME."));
    };
    let start = std::time::Instant::now();
    let (sender, heard) = sync_channel(WAITING);
    // The callback stamps, copies and returns. Where the judge cannot keep up, bytes are lost
    // here rather than in the driver, which would do it without a word.
    let take = move |_stamp: u64, bytes: &[u8], (): &mut ()| {
        let _ = sender.try_send(Heard::Bytes { bytes: bytes.to_vec(), at: since(start) });
    };
    let connection = input.connect(&port, CLIENT, take, ()).map_err(|error| {
        Fault::new(Exit::Live, format!("“{name}” cannot be opened: {error}"))
            .advise("Is another program using it?")
    })?;
    let mut source = Source::new(name, heard, start);
    source._held = Some(Box::new(connection));
    Ok(source)
}
