//! The sound that is asked for on the command line.

use crate::args::SoundArgs;
use crate::fault::Fault;
use crate::output::warn;
use crate::settings;
use crate::sound::{Sound, SoundChange, SoundChoice, SoundRequest};
use evenhand_core::units::Offset;

/// Opens it. What is asked for by name has to be there; otherwise it is said once that there is
/// no sound, and things go on without it until there is. A delay that is given is remembered.
pub(crate) fn open(args: &SoundArgs, clock: std::time::Instant) -> Result<Sound, Fault> {
    let wishes = wishes(args)?;
    if is_asked_for(args) || args.sound.is_some() {
        return Ok(Sound::open(&wishes, clock)?);
    }
    let sound = Sound::open_or_wait(&wishes, clock);
    if let Some(problem) = sound.missing() {
        warn(&format!("no sound: {problem}\n{}", problem.advice()));
    }
    Ok(sound)
}

/// Whether it is asked for by name, so that its being missing has to be said.
pub(crate) fn is_asked_for(args: &SoundArgs) -> bool {
    args.sound_port.is_some() || args.sound.is_some_and(|choice| choice != SoundChoice::None)
}

fn wishes(args: &SoundArgs) -> Result<SoundRequest, Fault> {
    let millis = match args.sound_delay {
        Some(millis) => {
            settings::remember_sound_delay(millis)?;
            millis
        }
        None => settings::remembered_sound_delay()?,
    };
    // Whoever names a MIDI output wants to hear it.
    let usual = if args.sound_port.is_some() { SoundChoice::Midi } else { SoundChoice::Audio };
    Ok(SoundRequest {
        choice: args.sound.unwrap_or(usual),
        port: args.sound_port.clone(),
        cues: !args.no_cues,
        delay: Offset::from_millis(millis),
    })
}

/// What has become of the sound, in a sentence.
pub(crate) fn words(change: &SoundChange) -> String {
    match change {
        SoundChange::Lost(problem) => format!(
            "no sound any more: {problem}. It goes on without, and the sound is taken up again \
             when it is back."
        ),
        SoundChange::Back(name) => format!("the sound is back, through “{name}”"),
    }
}
