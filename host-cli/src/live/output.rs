//! The MIDI outputs of this computer.

use super::choose::Listed;
pub(crate) use super::choose::{CLICKS, WATCHES_CLICK};
use super::system;
use crate::fault::Fault;
use midir::{MidiOutput, MidiOutputPort};

/// An entrance to the MIDI system for sending, under this name.
pub(crate) fn output(name: &str) -> Result<MidiOutput, Fault> {
    system::look()?;
    MidiOutput::new(name).map_err(|_| system::unusable("it gives no reason"))
}

/// What there is to send to. A port that goes while it is asked for its name is not there.
pub(crate) fn ports(output: &MidiOutput) -> Vec<(MidiOutputPort, Listed)> {
    let named = |port: MidiOutputPort| {
        let name = output.port_name(&port).ok()?;
        let id = port.id();
        Some((port, Listed { name, id }))
    };
    output.ports().into_iter().filter_map(named).filter(|(_, port)| !port.is_ours()).collect()
}

/// All outputs of this computer.
pub fn outputs() -> Result<Vec<Listed>, Fault> {
    Ok(ports(&output(CLICKS)?).into_iter().map(|(_, listed)| listed).collect())
}
