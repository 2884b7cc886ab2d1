//! Why there is no sound, and what to do about it.

use crate::fault::{Exit, Fault};
use std::fmt;

/// Why there is no sound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundProblem {
    /// This build cannot play through the audio output.
    AudioNotBuilt,
    /// This build knows no MIDI ports.
    MidiNotBuilt,
    /// The computer has no audio output.
    NoOutput,
    /// The audio output cannot be used; what the system says.
    Refused(String),
    /// The audio output was opened, but never asked for samples.
    NothingTaken,
    /// The system does not answer.
    NoAnswer,
    /// The output has gone while it was used.
    Lost,
    /// The MIDI system cannot be used; what is wrong, and what to do.
    NoMidi(String, String),
    /// There is no MIDI output, or none that can be meant.
    NoPort,
    /// No MIDI output has this in its name; those that there are.
    UnknownPort(String, String),
    /// More than one MIDI output can be meant: these.
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

impl fmt::Display for SoundProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AudioNotBuilt => f.write_str("this build has no audio output"),
            Self::MidiNotBuilt => f.write_str("this build has no MIDI ports"),
            Self::NoOutput => f.write_str("there is no audio output"),
            Self::Refused(why) => write!(f, "the audio output cannot be used: {why}"),
            Self::NothingTaken => f.write_str("the audio output was opened, but does not play"),
            Self::NoAnswer => f.write_str("the sound system does not answer"),
            Self::Lost => f.write_str("the sound output has gone"),
            Self::NoMidi(what, _) => f.write_str(what),
            Self::NoPort => f.write_str("there is no MIDI output to click on"),
            Self::UnknownPort(wanted, _) => {
                write!(f, "no MIDI output has “{wanted}” in its name")
            }
            Self::SeveralPorts(names) => {
                write!(f, "more than one MIDI output can be meant: {names}")
            }
        }
    }
}

impl std::error::Error for SoundProblem {}

impl From<SoundProblem> for Fault {
    fn from(problem: SoundProblem) -> Self {
        Self::new(Exit::Live, problem.to_string()).advise(problem.advice())
    }
}
