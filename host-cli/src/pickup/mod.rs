//! Profiles of pickups, as files. Specified in `docs/pickup-profile.md`.

pub(crate) mod errors;
mod value;
mod write;

pub use write::{Remark, text};

use crate::fault::{Exit, Fault};
use crate::read;
use evenhand_core::pickup::Pickup;
use std::collections::BTreeMap;
use std::path::Path;

/// The largest profile: a page of comments has a few kilobytes. Our default.
const LARGEST: u64 = 64 * 1024;

/// What a profile begins with.
const FIRST_LINE: &str = "evenhand pickup 1";

/// Something that is wrong in a profile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, and what would be right.
    pub what: String,
}

/// Reads a profile from a file.
pub fn read(path: &Path) -> Result<Pickup, Fault> {
    let text = read::text(path, LARGEST, "pickup profile")
        .map_err(|fault| Fault { exit: Exit::Input, ..fault })?;
    parse(&text).map_err(|problems| {
        let count = match problems.len() {
            1 => "one problem".to_owned(),
            many => format!("{many} problems"),
        };
        let shown = path.display();
        let list = problems.iter().map(|Problem { line, what }| format!("{shown}:{line}: {what}"));
        let list: Vec<String> = list.collect();
        Fault::new(Exit::Input, format!("{shown}: {count}\n{}", list.join("\n")))
    })
}

/// Reads a profile from its text.
///
/// # Errors
/// Everything that is wrong in it.
pub fn parse(text: &str) -> Result<Pickup, Vec<Problem>> {
    let mut pickup = Pickup::UNKNOWN;
    let mut problems = Vec::new();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut begun = false;
    for (line, content) in (1..).zip(text.lines()) {
        let content = content.split('#').next().unwrap_or_default().trim();
        let content = if line == 1 { content.trim_start_matches('\u{feff}') } else { content };
        if content.is_empty() {
            continue;
        }
        let mut problem = |what: String| problems.push(Problem { line, what });
        if !std::mem::replace(&mut begun, true) {
            let words: Vec<&str> = content.split_whitespace().collect();
            if words.join(" ") == FIRST_LINE {
                continue;
            }
            problem(match words.as_slice() {
                ["evenhand", "pickup", version] => format!(
                    "version {version} of the format is not known here; this program reads \
                     “{FIRST_LINE}”"
                ),
                _ => format!("a pickup profile begins with the line “{FIRST_LINE}”"),
            });
            break;
        }
        let Some((key, value)) = content.split_once('=') else {
            problem(format!("“{content}” is no line of a profile; write “name = value”"));
            continue;
        };
        let (key, value) = (key.trim(), value.trim());
        if let Some(before) = seen.insert(key, line) {
            problem(format!("{key} stands in line {before} already; keep one of them"));
        } else if let Err(what) = value::set(&mut pickup, key, value) {
            problem(what);
        }
    }
    if !begun {
        let what = format!("the file is empty; a pickup profile begins with “{FIRST_LINE}”");
        problems.push(Problem { line: 1, what });
    }
    if problems.is_empty() { Ok(pickup) } else { Err(problems) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::pickup::{Bends, Channels, Latency};
    use evenhand_core::units::{Level, Offset};

    const WHOLE: &str = "\u{feff}evenhand  pickup 1  # this one
channels = strings from 11
bend-range = 12
bends = colour

latency-ms = 4.5
latency-periods = 1.75
string-levels-db = 0, 0, 0.5, 0, -1.25, 0
noise-percent = 30
velocity = fixed
";

    #[test]
    fn a_whole_profile_is_read() {
        let mut expected = Pickup {
            channels: Channels::PerString { first: 10 },
            bend_range: 12,
            bends: Bends::OnlyColour,
            latency: Latency { base: Offset::from_micros(4_500), periods_percent: 175 },
            noise_percent: 30,
            fixed_velocity: true,
            ..Pickup::UNKNOWN
        };
        expected.string_levels[2] = Level::from_hundredths(50);
        expected.string_levels[4] = Level::from_hundredths(-125);
        assert_eq!(parse(WHOLE), Ok(expected));
    }

    #[test]
    fn what_is_not_said_is_not_known() {
        assert_eq!(parse("evenhand pickup 1"), Ok(Pickup::UNKNOWN));
    }

    #[test]
    fn everything_that_is_wrong_is_said_at_once() {
        let text = "evenhand pickup 1\nbend-range = 200\nlatency = 3\nbends\nlatency-ms = -1\n\
                    channels = strings from 12\nvelocity = fixed\nvelocity = heard\n\
                    string-levels-db = 1, x\nlatency-periods = 1.234\nnoise-percent = 5 %\n";
        let problems = parse(text).unwrap_err();
        let lines: Vec<usize> = problems.iter().map(|problem| problem.line).collect();
        assert_eq!(lines, [2, 3, 4, 5, 6, 8, 9, 10, 11]);
        assert!(problems[1].what.contains("latency-ms"), "{}", problems[1].what);
    }

    #[test]
    fn another_version_and_another_file_are_told() {
        let version = parse("evenhand pickup 2\nx = 1").unwrap_err();
        assert!(version[0].what.contains("version 2"));
        assert_eq!(version.len(), 1);
        let other = parse("\n\nevenhand study 1\n").unwrap_err();
        assert_eq!(other[0].line, 3);
        assert_eq!(parse(" \n# nothing\n").unwrap_err()[0].line, 1);
    }
}
