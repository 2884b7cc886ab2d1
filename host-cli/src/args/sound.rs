//! Options for what sounds, and `evenhand click`.

use super::{number, tempo};
use crate::settings::SOUND_DELAYS;
use crate::sound::SoundChoice;
use clap::Args;
use evenhand_core::study::Metre;
use std::path::PathBuf;

/// What sounds.
#[derive(Debug, Args)]
pub struct SoundArgs {
    /// Where the click sounds: through the audio output (without this option, if there is one),
    /// as notes to a MIDI output, or nowhere
    #[arg(long, value_enum, value_name = "WHERE")]
    pub sound: Option<SoundChoice>,
    /// The MIDI output for the click, by its name or a part of it
    #[arg(long, value_name = "NAME")]
    pub sound_port: Option<String>,
    /// How much later than the system says the sound is heard, by ear; remembered
    #[arg(long, value_name = "MS", allow_negative_numbers = true, value_parser = sound_delay)]
    pub sound_delay: Option<i32>,
    /// Sound no cue after a verdict
    #[arg(long)]
    pub no_cues: bool,
}

fn sound_delay(text: &str) -> Result<i32, String> {
    let (least, most) = (SOUND_DELAYS.start(), SOUND_DELAYS.end());
    let delay = text.parse().ok().filter(|delay| SOUND_DELAYS.contains(delay));
    delay.ok_or_else(|| format!("it is a whole number of milliseconds from {least} to {most}"))
}

/// `evenhand click`
#[derive(Debug, Args)]
pub struct ClickArgs {
    /// The tempo, in beats a minute
    #[arg(long, value_name = "BEATS", default_value_t = 60, value_parser = tempo)]
    pub tempo: u32,
    /// The metre
    #[arg(long, value_parser = metre, default_value = "4/4", value_name = "METRE")]
    pub metre: Metre,
    /// How many bars it clicks after the count-in
    #[arg(long, value_name = "NUMBER", default_value_t = 4, value_parser = number(1_u32, 10_000))]
    pub bars: u32,
    /// How many bars are counted in
    #[arg(long, value_name = "BARS", default_value_t = 1, value_parser = number(0_u32, 8))]
    pub count_in: u32,
    /// Write it as a WAV file instead of sounding it
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["sound", "sound_port", "sound_delay"])]
    pub write: Option<PathBuf>,
    /// Write it in the place of a file of this name
    #[arg(long, requires = "write")]
    pub replace: bool,
    /// What sounds.
    #[command(flatten)]
    pub sound: SoundArgs,
}

fn metre(text: &str) -> Result<Metre, String> {
    let parts = text.split_once('/');
    parts
        .and_then(|(upper, lower)| Metre::new(upper.parse().ok()?, lower.parse().ok()?))
        .ok_or_else(|| "a metre is 1 to 32 notes of 1, 2, 4, 8, 16 or 32: 3/4".to_owned())
}
