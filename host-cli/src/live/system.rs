//! The MIDI system itself: whether it is there, and what it lists.

use super::choose::{LISTENS, Listed};
use crate::fault::{Exit, Fault};
use midir::{Ignore, MidiInput, MidiInputPort};

/// What this build listens through.
pub const SYSTEM: &str = if cfg!(feature = "jack") {
    "JACK"
} else if cfg!(target_os = "linux") {
    "ALSA"
} else if cfg!(target_os = "macos") {
    "CoreMIDI"
} else if cfg!(target_os = "windows") {
    "Windows MIDI"
} else {
    "the system's MIDI"
};

/// Where ALSA's sequencer is.
#[cfg(all(target_os = "linux", not(feature = "jack")))]
const SEQUENCER: &str = "/dev/snd/seq";

/// An entrance to the MIDI system, under this name.
pub(super) fn input(name: &str) -> Result<MidiInput, Fault> {
    look()?;
    let mut input = MidiInput::new(name).map_err(|_| unusable("it gives no reason"))?;
    // Clock and active sensing say nothing about notes, but a stream may end for them.
    input.ignore(Ignore::None);
    Ok(input)
}

/// ALSA's library says on standard error what it cannot open, in words for its developers; so it
/// is only asked where it will succeed.
#[cfg(all(target_os = "linux", not(feature = "jack")))]
pub(super) fn look() -> Result<(), Fault> {
    let opened = std::fs::OpenOptions::new().read(true).write(true).open(SEQUENCER);
    opened.map(drop).map_err(|error| unusable(&format!("{SEQUENCER}: {error}")))
}

#[cfg(not(all(target_os = "linux", not(feature = "jack"))))]
pub(super) fn look() -> Result<(), Fault> {
    Ok(())
}

pub(super) fn unusable(why: &str) -> Fault {
    let what = format!("this computer's MIDI system ({SYSTEM}) cannot be used: {why}");
    let advice = if cfg!(feature = "jack") {
        "Start the JACK server, or use a build without the feature `jack`. Raw bytes need no \
         MIDI system: --raw PATH."
    } else if cfg!(target_os = "linux") {
        "Load ALSA's sequencer (sudo modprobe snd-seq); where permission is denied, join its \
         group (sudo usermod -aG audio $USER) and log in again. Raw bytes need no MIDI system: \
         --raw PATH."
    } else {
        "Restart the computer's MIDI service or the computer. Raw bytes need no MIDI system: \
         --raw PATH."
    };
    Fault::new(Exit::Live, what).advise(advice)
}

/// What there is to listen to. A port that goes while it is asked for its name is not there.
pub(super) fn ports(input: &MidiInput) -> Vec<(MidiInputPort, Listed)> {
    let named = |port: MidiInputPort| {
        let name = input.port_name(&port).ok()?;
        let id = port.id();
        Some((port, Listed { name, id }))
    };
    input.ports().into_iter().filter_map(named).filter(|(_, port)| !port.is_ours()).collect()
}

/// All inputs of this computer.
pub fn list() -> Result<Vec<Listed>, Fault> {
    Ok(ports(&input(LISTENS)?).into_iter().map(|(_, listed)| listed).collect())
}
