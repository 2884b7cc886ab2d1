//! Names and numbers that are nowhere in the log.

use crate::fault::{Exit, Fault};
use crate::log::{Filter, StoredSitting};
use crate::study;
use std::collections::BTreeSet;
use std::path::Path;

/// So many names are told where one was not found. Our default: they fit a screen.
const MOST_NAMED: usize = 12;

/// What is asked for by a name or a number that is nowhere in the log.
pub(super) fn name(
    filter: &Filter,
    read: &impl Fn(&Filter) -> Result<Vec<StoredSitting>, Fault>,
) -> Result<(), Fault> {
    let all = read(&Filter::default())?;
    let every = Filter::default;
    let named = |name: &Option<String>| name.as_ref().map(|name| format!("“{name}”"));
    let chunks = || all.iter().flat_map(|sitting| &sitting.attempts).map(|one| one.chunk.clone());
    for (what, asked, alone, known) in [
        (
            "study",
            named(&filter.study),
            Filter { study: filter.study.clone(), ..every() },
            all.iter().map(|sitting| sitting.study.clone()).collect::<BTreeSet<_>>(),
        ),
        (
            "chunk",
            named(&filter.chunk),
            Filter { chunk: filter.chunk.clone(), ..every() },
            chunks().collect(),
        ),
        (
            "player",
            named(&filter.who),
            Filter { who: filter.who.clone(), ..every() },
            all.iter().filter_map(|sitting| sitting.who.clone()).collect(),
        ),
        (
            "sitting",
            filter.sitting.map(|number| number.to_string()),
            Filter { sitting: filter.sitting, ..every() },
            all.iter().map(|sitting| sitting.id.to_string()).collect(),
        ),
    ] {
        if let Some(asked) = asked
            && read(&alone)?.is_empty()
        {
            let fault = Fault::new(Exit::Usage, format!("no {what} {asked} is in the log"));
            if let Some(near) = nearest(asked.trim_matches(['“', '”']), &known) {
                return Err(fault.advise(format!("Did you mean “{near}”?")));
            }
            return Err(fault.advise(match known.len() {
                0 => format!("No {what} has been kept in it yet."),
                1..=MOST_NAMED => {
                    format!("In it: {}.", known.into_iter().collect::<Vec<_>>().join(", "))
                }
                _ => "`evenhand history --all` shows all that is in it.".to_owned(),
            }));
        }
    }
    Ok(())
}

/// A folder that is not there.
pub(super) fn folder(folder: &Path) -> Fault {
    let fault = Fault::new(Exit::Input, format!("there is no folder {}", folder.display()));
    let parent = match folder.parent() {
        Some(parent) if parent.as_os_str().is_empty() => Path::new("."),
        Some(parent) => parent,
        None => Path::new("/"),
    };
    let entries = std::fs::read_dir(parent).into_iter().flatten().flatten();
    let beside = entries.filter(|entry| entry.path().is_dir());
    let beside = beside.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    let asked = folder.file_name().unwrap_or_default().to_string_lossy();
    let near = nearest(&asked, &beside);
    let near = near.map(|near| format!("Did you mean {}? ", folder.with_file_name(near).display()));
    fault.advise(format!(
        "{}Without --data the log is in its usual place.",
        near.unwrap_or_else(|| "Check the name. ".to_owned())
    ))
}

/// The name that was probably meant.
fn nearest<'n>(asked: &str, known: &'n BTreeSet<String>) -> Option<&'n String> {
    let lower: Vec<String> = known.iter().map(|name| name.to_lowercase()).collect();
    let near = study::nearest(asked, lower.iter().map(String::as_str))?;
    known.iter().find(|name| name.to_lowercase() == near)
}
