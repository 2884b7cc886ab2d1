//! What is remembered for the user: a short text file in their configuration folder.

use crate::fault::{Exit, Fault};
use crate::read;
use etcetera::BaseStrategy;
use std::io;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

/// The environment variable that names another folder.
pub const VARIABLE: &str = "EVENHAND_CONFIG";

/// The name of the file in it.
pub const FILE: &str = "settings.txt";

/// What the file begins with.
const FIRST_LINE: &str = "evenhand settings 1";

/// The setting with the name of the port that was chosen last.
const PORT: &str = "port";

/// The setting of how much later than the system says the sound is heard, in milliseconds.
const SOUND_DELAY: &str = "sound-delay";

/// The delays that make sense, in milliseconds: cordless headphones take some hundred. Below 0
/// for a system that says too much. Our default.
pub const SOUND_DELAYS: RangeInclusive<i32> = -200..=1_000;

/// The largest file that is read: settings take a few hundred bytes. Our default.
const LARGEST: u64 = 64 * 1024;

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

/// The port that was chosen last, if there was one.
pub fn remembered_port() -> Result<Option<String>, Fault> {
    let file = folder()?.join(FILE);
    Ok(text_of(&file)?.as_deref().and_then(port_in).map(str::to_owned))
}

/// Remembers a port. Whatever else stands in the file stays.
pub fn remember_port(name: &str) -> Result<(), Fault> {
    change(|before| with_port(before, name))
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
    let comment = "# How much later than the system says the sound is heard, in milliseconds.";
    change(|before| with(before, SOUND_DELAY, &millis.to_string(), comment))
}

fn change(how: impl Fn(&str) -> String) -> Result<(), Fault> {
    let folder = folder()?;
    let file = folder.join(FILE);
    let before = text_of(&file)?.unwrap_or_default();
    let after = how(&before);
    if after == before {
        return Ok(());
    }
    write(&folder, &file, &after).map_err(|error| {
        Fault::new(Exit::Output, format!("{} cannot be written: {error}", file.display()))
            .advise(format!("Check who may write there, or name another folder in {VARIABLE}."))
    })
}

/// Written beside it and then moved, so that no half of it ever stands there.
fn write(folder: &Path, file: &Path, text: &str) -> io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let new = folder.join(format!("{FILE}.{}.new", std::process::id()));
    let moved = std::fs::write(&new, text).and_then(|()| std::fs::rename(&new, file));
    if moved.is_err() {
        let _ = std::fs::remove_file(&new);
    }
    moved
}

/// The file's text; none where there is no file.
fn text_of(file: &Path) -> Result<Option<String>, Fault> {
    if !file.exists() {
        return Ok(None);
    }
    let fault = |fault: Fault| Fault { exit: Exit::Input, ..fault };
    let text = read::text(file, LARGEST, "settings file").map_err(fault)?;
    let first = text.trim_start_matches('\u{feff}').lines().find(|line| !is_silent(line));
    if first.is_some_and(|line| line.trim() != FIRST_LINE) {
        return Err(Fault::new(
            Exit::Input,
            format!("{} does not begin with “{FIRST_LINE}”", file.display()),
        )
        .advise("Write that as its first line, or move the file away: a new one will be made."));
    }
    Ok(Some(text))
}

fn is_silent(line: &str) -> bool {
    line.trim().is_empty() || line.trim_start().starts_with('#')
}

fn value<'t>(line: &'t str, wanted: &str) -> Option<&'t str> {
    let (name, value) = line.split_once('=').filter(|_| !is_silent(line))?;
    (name.trim() == wanted).then_some(value.trim())
}

fn port_in(text: &str) -> Option<&str> {
    text.lines().find_map(|line| value(line, PORT)).filter(|name| !name.is_empty())
}

/// A setting with the number of its line.
fn numbered<'t>(text: &'t str, wanted: &str) -> Option<(usize, &'t str)> {
    (1..).zip(text.lines()).find_map(|(line, of)| Some((line, value(of, wanted)?)))
}

fn with_port(text: &str, name: &str) -> String {
    // A name is one line, whatever a device calls itself.
    let name: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    with(text, PORT, &name, "# The MIDI input that `evenhand listen` takes.")
}

/// The text with a setting changed, or added under its comment.
fn with(text: &str, name: &str, value_of_it: &str, comment: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    if text.lines().all(is_silent) {
        lines.push(FIRST_LINE.to_owned());
    }
    lines.extend(text.lines().map(str::to_owned));
    let new = format!("{name} = {value_of_it}");
    match lines.iter_mut().find(|line| value(line, name).is_some()) {
        Some(line) => *line = new,
        None => {
            lines.push(comment.to_owned());
            lines.push(new);
        }
    }
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_is_found_again_whatever_its_name_is() {
        for name in ["Six String:MIDI 1", "a = b", "# c", "Größe 20:0"] {
            let text = with_port("", name);
            assert_eq!(port_in(&text), Some(name), "{text}");
            assert_eq!(with_port(&text, name), text);
        }
        assert_eq!(port_in(&with_port("", "two\nlines\r")), Some("two lines"));
    }

    #[test]
    fn another_port_takes_its_place_and_the_rest_stays() {
        let text = "evenhand settings 1\n# mine\nport = Old\nlater = 3\n";
        assert_eq!(with_port(text, "New"), text.replace("Old", "New"));
        let without = "evenhand settings 1\nlater = 3\n";
        let added = with_port(without, "New");
        assert!(added.starts_with(without) && added.ends_with("\nport = New\n"), "{added}");
        assert_eq!(port_in("evenhand settings 1\nport =\n"), None);
        assert_eq!(port_in("evenhand settings 1\n# port = No\n"), None);
    }

    #[test]
    fn settings_stand_side_by_side() {
        let port = with_port("", "Keys");
        let both = with(&port, SOUND_DELAY, "-20", "# By ear.");
        assert_eq!(port_in(&both), Some("Keys"));
        assert_eq!(numbered(&both, SOUND_DELAY), Some((5, "-20")), "{both}");
        assert_eq!(with(&both, SOUND_DELAY, "-20", "# By ear."), both);
        assert_eq!(numbered(&with(&both, SOUND_DELAY, "3", ""), SOUND_DELAY), Some((5, "3")));
    }
}
