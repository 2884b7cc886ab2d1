//! What sound is wished for.

use clap::ValueEnum;
use evenhand_core::units::Offset;

/// Where the click sounds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum SoundChoice {
    /// Through the computer's audio output
    #[default]
    Audio,
    /// As notes to a MIDI output
    Midi,
    /// Nowhere
    None,
}

/// What sound is wished for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SoundRequest {
    /// Where the click sounds.
    pub choice: SoundChoice,
    /// The MIDI output, by its name or a part of it.
    pub port: Option<String>,
    /// Whether there is a cue after a verdict.
    pub cues: bool,
    /// How much later than the system says the listener hears it.
    pub delay: Offset,
}
