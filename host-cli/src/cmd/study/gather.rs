//! `evenhand study gather`: the same study with its music written once.

use crate::fault::{Exit, Fault};
use crate::output::{Output, path};
use crate::report::count;
use crate::study::{self, LARGEST_TEXT};
use crate::{read, studies};
use std::path::Path;

pub(super) fn run(
    file: &Path,
    out: &Path,
    replace: bool,
    output: &mut Output,
) -> Result<Exit, Fault> {
    path::spare(file, out, "Name another file with --out FILE.")?;
    let text = read::text(file, LARGEST_TEXT as u64, "study")?;
    let gathered = study::parse(&text)
        .and_then(|study| study::gather(&study))
        .map_err(|problems| studies::in_words(&file.display().to_string(), &problems))?;
    let once = study::print(&gathered.study);
    path::put(out, once.as_bytes(), replace)?;
    let parts = gathered.study.chunks.iter().filter(|chunk| chunk.part.is_some()).count();
    output.say(&format!(
        "{}: {} of {} are parts of a music that is written once; {} lines, {} before.",
        out.display(),
        parts,
        count(gathered.study.chunks.len(), "chunk"),
        once.lines().count(),
        text.lines().count(),
    ))?;
    for name in &gathered.apart {
        output
            .say(&format!("“{name}” keeps its own: it overlaps, goes back, or lands elsewhere."))?;
    }
    Ok(Exit::Done)
}
