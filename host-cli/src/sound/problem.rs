//! Why there is no sound, and what to do about it.

use crate::fault::{Exit, Fault};
use thiserror::Error;

/// Why there is no sound.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SoundProblem {
    /// This build cannot play through the audio output.
    #[error("this build has no audio output")]
    AudioNotBuilt,
    /// This build knows no MIDI ports.
    #[error("this build has no MIDI ports")]
    MidiNotBuilt,
    /// The computer has no audio output.
    #[error("there is no audio output")]
    NoOutput,
    /// The audio output cannot be used; what the system says.
    #[error("the audio output cannot be used: {0}")]
    Refused(String),
    /// The audio output was opened, but never asked for samples.
    #[error("the audio output was opened, but does not play")]
    NothingTaken,
    /// The system does not answer.
    #[error("the sound system does not answer")]
    NoAnswer,
    /// The output has gone while it was used.
    #[error("the sound output has gone")]
    Lost,
    /// The MIDI system cannot be used; what is wrong, and what to do.
    #[error("{0}")]
    NoMidi(String, String),
    /// There is no MIDI output, or none that can be meant.
    #[error("there is no MIDI output to click on")]
    NoPort,
    /// No MIDI output has this in its name; those that there are.
    #[error("no MIDI output has “{0}” in its name")]
    UnknownPort(String, String),
    /// More than one MIDI output can be meant: these.
    #[error("more than one MIDI output can be meant: {0}")]
    SeveralPorts(String),
}

impl SoundProblem {
    /// What to do.
    pub fn advice(&self) -> String {
        let advice = match self {
            Self::AudioNotBuilt => {
                "Build with the feature `sound` for it, or send the click to a MIDI output: \
                 --sound midi."
            }
            Self::MidiNotBuilt => "Build with the feature `live` for it, or use --sound audio.",
            Self::NoOutput | Self::Refused(_) if cfg!(target_os = "linux") => {
                "See that a sound card is there and free (`aplay -l` lists them), and that you may \
                 use it: sudo usermod -aG audio $USER, then log in again. Without one, a MIDI \
                 instrument can click: --sound midi."
            }
            Self::NoOutput | Self::Refused(_) => {
                "Choose an output in the system's sound settings, and close programs that keep it \
                 to themselves. Without one, a MIDI instrument can click: --sound midi."
            }
            Self::NothingTaken | Self::NoAnswer => {
                "Start the computer's sound service again, or choose another output in its settings."
            }
            Self::Lost => {
                "Plug it in again, or start the sound service again; it is taken up by itself."
            }
            Self::NoMidi(_, advice) => advice,
            Self::NoPort => "Plug in a MIDI instrument, or use --sound audio.",
            Self::UnknownPort(_, names) if names.is_empty() => {
                "There is none at all. Plug in a MIDI instrument, or use --sound audio."
            }
            Self::UnknownPort(_, names) => {
                return format!("There is {names}. Choose with --sound-port NAME.");
            }
            Self::SeveralPorts(_) => "Choose with --sound-port NAME; a longer part may be needed.",
        };
        advice.to_owned()
    }
}

impl From<SoundProblem> for Fault {
    fn from(problem: SoundProblem) -> Self {
        Self::new(Exit::Live, problem.to_string()).advise(problem.advice())
    }
}
