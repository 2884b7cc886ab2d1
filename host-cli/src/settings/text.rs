//! The settings' file as text: what is changed changes, and the rest stays as the user wrote it.

use crate::fault::{Exit, Fault};
use crate::{private, read};
use std::path::Path;

/// What the file begins with.
const FIRST_LINE: &str = "evenhand settings 1";

/// The largest file that is read: settings take a few hundred bytes. Our default.
const LARGEST: u64 = 64 * 1024;

/// The file's text; none where there is no file.
pub(super) fn text_of(file: &Path) -> Result<Option<String>, Fault> {
    if !file.exists() {
        return Ok(None);
    }
    private::tighten(file);
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

pub(super) fn value_in<'t>(text: &'t str, wanted: &str) -> Option<&'t str> {
    text.lines().find_map(|line| value(line, wanted)).filter(|value| !value.is_empty())
}

/// A setting with the number of its line.
pub(super) fn numbered<'t>(text: &'t str, wanted: &str) -> Option<(usize, &'t str)> {
    (1..).zip(text.lines()).find_map(|(line, of)| Some((line, value(of, wanted)?)))
}

pub(super) fn with(text: &str, wanted: &str, new: &str) -> String {
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

pub(super) fn without(text: &str, wanted: &str) -> String {
    let kept = text.lines().filter(|line| value(line, wanted).is_none());
    kept.map(|line| format!("{line}\n")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const PORT: &str = "port";

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
        let text = "evenhand settings 1\nport = A\nswitch-next = key b\n";
        assert_eq!(without(text, "switch-next"), "evenhand settings 1\nport = A\n");
        assert_eq!(without(text, "switch-back"), text);
    }
}
