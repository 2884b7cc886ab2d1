//! What is remembered for the user: a short text file in their configuration folder.

pub mod learnt;
mod switches;
mod text;

pub use switches::{remember_switches, switches};

use crate::fault::{Exit, Fault};
use crate::private;
use etcetera::BaseStrategy;
use std::ops::RangeInclusive;
use std::path::PathBuf;
use text::{numbered, text_of, value_in, with, without};

/// The environment variable that names another folder.
pub const VARIABLE: &str = "EVENHAND_CONFIG";

/// The name of the file in it.
pub const FILE: &str = "settings.txt";

/// The setting with the name of the port that was chosen last.
const PORT: &str = "port";

/// The setting with the name of the port that the foot switch is at.
const SWITCH_PORT: &str = "switch-port";
/// The setting of how much later than the system says the sound is heard, in milliseconds.
const SOUND_DELAY: &str = "sound-delay";

/// The delays that make sense, in milliseconds: cordless headphones take some hundred. Below 0
/// for a system that says too much. Our default.
pub const SOUND_DELAYS: RangeInclusive<i32> = -200..=1_000;

/// The folder for settings: that of the environment variable, else the usual one.
pub fn folder() -> Result<PathBuf, Fault> {
    if let Some(folder) = std::env::var_os(VARIABLE).filter(|value| !value.is_empty()) {
        return Ok(folder.into());
    }
    let usual = etcetera::choose_base_strategy().map_err(|_| {
        Fault::new(Exit::Input, "the system does not say where your home folder is")
            .advise(format!("Set HOME, or name a folder for settings in {VARIABLE}."))
    })?;
    Ok(usual.config_dir().join("evenhand"))
}

/// The name of the pickup's profile in the same folder.
pub const PROFILE: &str = "pickup.txt";

/// Where the profile of the user's own pickup is, or would be.
pub fn profile_place() -> Result<PathBuf, Fault> {
    Ok(folder()?.join(PROFILE))
}

/// The profile of the user's own pickup, if there is one.
pub fn own_profile() -> Result<Option<PathBuf>, Fault> {
    let place = profile_place()?;
    Ok(place.exists().then_some(place))
}

/// The port that was chosen last, if there was one.
pub fn remembered_port() -> Result<Option<String>, Fault> {
    remembered(PORT)
}

/// Remembers a port.
pub fn remember_port(name: &str) -> Result<(), Fault> {
    remember(&[(PORT, Some(name))])
}

/// The port of the foot switch, if it has one of its own.
pub fn switch_port() -> Result<Option<String>, Fault> {
    remembered(SWITCH_PORT)
}

/// Remembers the port of the foot switch.
pub fn remember_switch_port(name: &str) -> Result<(), Fault> {
    remember(&[(SWITCH_PORT, Some(name))])
}

/// How much later than the system says the sound is heard, in milliseconds; 0 if nobody has
/// said so.
pub fn remembered_sound_delay() -> Result<i32, Fault> {
    let file = folder()?.join(FILE);
    let Some(text) = text_of(&file)? else { return Ok(0) };
    let Some((line, given)) = numbered(&text, SOUND_DELAY) else { return Ok(0) };
    given.parse().ok().filter(|delay| SOUND_DELAYS.contains(delay)).ok_or_else(|| {
        let (least, most) = (SOUND_DELAYS.start(), SOUND_DELAYS.end());
        let what = format!("{}, line {line}: “{given}” is no {SOUND_DELAY}", file.display());
        Fault::new(Exit::Input, what)
            .advise(format!("Write a whole number of milliseconds from {least} to {most}."))
    })
}

/// Remembers that delay. Whatever else stands in the file stays.
pub fn remember_sound_delay(millis: i32) -> Result<(), Fault> {
    remember(&[(SOUND_DELAY, Some(&millis.to_string()))])
}

fn remembered(name: &str) -> Result<Option<String>, Fault> {
    let file = folder()?.join(FILE);
    Ok(text_of(&file)?.and_then(|text| value_in(&text, name).map(str::to_owned)))
}

/// Remembers values, or forgets them. Whatever else stands in the file stays.
fn remember(values: &[(&str, Option<&str>)]) -> Result<(), Fault> {
    let file = folder()?.join(FILE);
    let before = text_of(&file)?.unwrap_or_default();
    let mut after = before.clone();
    for (name, value) in values {
        after = match value {
            Some(value) => with(&after, name, value),
            None => without(&after, name),
        };
    }
    if after == before {
        return Ok(());
    }
    private::replace(&file, after.as_bytes()).map_err(|error| {
        Fault::new(Exit::Output, format!("{} cannot be written: {error}", file.display()))
            .advise(format!("Check who may write there, or name another folder in {VARIABLE}."))
    })
}
