//! What is remembered for the user: a short text file in their configuration folder.

use crate::fault::{Exit, Fault};
use crate::read;
use crate::switches::{Action, Switches};
use etcetera::BaseStrategy;
use std::io;
use std::path::{Path, PathBuf};

/// The environment variable that names another folder.
pub const VARIABLE: &str = "EVENHAND_CONFIG";

/// The name of the file in it.
pub const FILE: &str = "settings.txt";

/// What the file begins with.
const FIRST_LINE: &str = "evenhand settings 1";

/// The setting with the name of the port that was chosen last.
const PORT: &str = "port";

/// The setting with the name of the port that the foot switch is at.
const SWITCH_PORT: &str = "switch port";

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

/// The foot switches that have been learnt.
pub fn switches() -> Result<Switches, Fault> {
    let mut switches = Switches::none();
    let file = folder()?.join(FILE);
    let Some(text) = text_of(&file)? else { return Ok(switches) };
    for action in Action::ALL {
        let Some(written) = value_in(&text, &switch(action)) else { continue };
        let signal = written.parse().map_err(|_| {
            Fault::new(
                Exit::Input,
                format!("{}: “{}” is no foot switch: “{written}”", file.display(), switch(action)),
            )
            .advise("Learn it anew with `evenhand footswitch`, or take the line out.")
        })?;
        switches.learn(action, signal);
    }
    Ok(switches)
}

/// Remembers what has been learnt, in place of what was known.
pub fn remember_switches(switches: &Switches) -> Result<(), Fault> {
    let names = Action::ALL.map(switch);
    let mut values: Vec<(&str, Option<String>)> = Vec::new();
    for (action, name) in Action::ALL.into_iter().zip(&names) {
        let known = switches.known().find(|(other, _)| *other == action);
        values.push((name, known.map(|(_, signal)| signal.to_string())));
    }
    let values: Vec<_> = values.iter().map(|(name, value)| (*name, value.as_deref())).collect();
    remember(&values)
}

/// The name of a switch in the file.
fn switch(action: Action) -> String {
    format!("switch {}", action.word())
}

fn remembered(name: &str) -> Result<Option<String>, Fault> {
    let file = folder()?.join(FILE);
    Ok(text_of(&file)?.and_then(|text| value_in(&text, name).map(str::to_owned)))
}

/// Remembers values, or forgets them. Whatever else stands in the file stays.
fn remember(values: &[(&str, Option<&str>)]) -> Result<(), Fault> {
    let folder = folder()?;
    let file = folder.join(FILE);
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

fn value_in<'t>(text: &'t str, wanted: &str) -> Option<&'t str> {
    text.lines().find_map(|line| value(line, wanted)).filter(|value| !value.is_empty())
}

fn with(text: &str, wanted: &str, new: &str) -> String {
    // A value is one line, whatever a device calls itself.
    let new: String = new.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let mut lines: Vec<String> = Vec::new();
    if text.lines().all(is_silent) {
        lines.push(FIRST_LINE.to_owned());
        lines.push("# What `evenhand` remembers: MIDI inputs, foot switches, sound.".to_owned());
    }
    lines.extend(text.lines().map(str::to_owned));
    let new = format!("{wanted} = {new}");
    match lines.iter_mut().find(|line| value(line, wanted).is_some()) {
        Some(line) => *line = new,
        None => lines.push(new),
    }
    lines.join("\n") + "\n"
}

fn without(text: &str, wanted: &str) -> String {
    let kept = text.lines().filter(|line| value(line, wanted).is_none());
    kept.map(|line| format!("{line}\n")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_is_found_again_whatever_its_name_is() {
        for name in ["Six String:MIDI 1", "a = b", "# c", "Größe 20:0"] {
            let text = with("", PORT, name);
            assert_eq!(value_in(&text, PORT), Some(name), "{text}");
            assert_eq!(with(&text, PORT, name), text);
        }
        assert_eq!(value_in(&with("", PORT, "two\nlines\r"), PORT), Some("two lines"));
    }

    #[test]
    fn another_port_takes_its_place_and_the_rest_stays() {
        let text = "evenhand settings 1\n# mine\nport = Old\nlater = 3\n";
        assert_eq!(with(text, PORT, "New"), text.replace("Old", "New"));
        let without = "evenhand settings 1\nlater = 3\n";
        assert_eq!(with(without, PORT, "New"), format!("{without}port = New\n"));
        assert_eq!(value_in("evenhand settings 1\nport =\n", PORT), None);
        assert_eq!(value_in("evenhand settings 1\n# port = No\n", PORT), None);
    }

    #[test]
    fn what_is_forgotten_is_gone_and_nothing_else() {
        let text = "evenhand settings 1\nport = A\nswitch next = key b\n";
        assert_eq!(without(text, "switch next"), "evenhand settings 1\nport = A\n");
        assert_eq!(without(text, "switch back"), text);
    }
}
