//! Whether click and cues can be heard.

use super::{Check, State};
use crate::sound::{Sound, SoundProblem, SoundRequest};

/// Opens what practice would use, which plays silence.
pub(super) fn check() -> Check {
    match Sound::open(&SoundRequest::default(), std::time::Instant::now()) {
        Ok(sound) => {
            let name = sound.output_name().unwrap_or("the audio output");
            let later = sound.latency().map_or(String::new(), |latency| {
                format!(", heard {} ms after it is sent", latency.as_millis())
            });
            Check::good("sound", format!("the click sounds through “{name}”{later}"))
        }
        Err(problem @ SoundProblem::AudioNotBuilt) => {
            Check::new("sound", State::Absent, problem.to_string()).advise(problem.advice())
        }
        Err(problem) => {
            let found = format!("{problem}; the click is only shown");
            Check::new("sound", State::Mind, found).advise(problem.advice())
        }
    }
}
