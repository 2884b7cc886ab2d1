//! `evenhand study check`: what is wrong in a study, and what hands cannot do.

use crate::fault::{Exit, Fault};
use crate::output::{Output, warn};
use crate::report::{count, wrapped};
use crate::study::{self, Caution, LARGEST_TEXT, Prepared, Study, place_name};
use crate::{read, studies};
use std::path::{Path, PathBuf};

/// Checks all of them; the last one that is not right is how it ends.
pub(super) fn run(files: &[PathBuf], scale: u16, output: &mut Output) -> Result<Exit, Fault> {
    let mut failed: Option<Fault> = None;
    for path in files {
        if let Err(fault) = one(path, scale, output)
            && let Some(before) = failed.replace(fault)
        {
            warn(&before.to_string());
        }
    }
    failed.map_or(Ok(Exit::Done), Err)
}

fn one(path: &Path, scale: u16, output: &mut Output) -> Result<(), Fault> {
    let name = path.display().to_string();
    let text = read::text(path, LARGEST_TEXT as u64, "study")?;
    let (study, chunks) = study::parse(&text)
        .and_then(|study| study.prepare().map(|chunks| (study, chunks)))
        .map_err(|problems| studies::in_words(&name, &problems))?;
    let found: Vec<(&Prepared, Caution)> = chunks
        .iter()
        .flat_map(|chunk| of_chunk(&study, chunk, scale).into_iter().map(move |one| (chunk, one)))
        .collect();
    let impossible: Vec<String> = found
        .iter()
        .filter(|(_, caution)| caution.strain.is_impossible())
        .map(|(chunk, caution)| in_words(chunk, caution))
        .collect();
    let hard = found.iter().filter(|(_, caution)| !caution.strain.is_impossible());
    let hard: Vec<String> = hard.map(|(chunk, caution)| in_words(chunk, caution)).collect();
    if impossible.is_empty() {
        let notes: usize = chunks.iter().map(|chunk| chunk.notes.len()).sum();
        let (chunks, notes) = (count(chunks.len(), "chunk"), count(notes, "note"));
        let but = match hard.len() {
            0 => String::new(),
            many => format!("; to look at: {}", count(many, "place")),
        };
        output.say(&format!("{name}: right ({chunks}, {notes}){but}"))?;
    }
    for line in hard.iter().flat_map(|place| wrapped(place, "  ", "    ")) {
        output.say(&line)?;
    }
    if impossible.is_empty() {
        return Ok(());
    }
    let places = count(impossible.len(), "place");
    let list: Vec<String> =
        impossible.iter().flat_map(|place| wrapped(place, "  ", "    ")).collect();
    Err(Fault::new(
        Exit::Study,
        format!("{name}: no hand does this, in {places}\n{}", list.join("\n")),
    ))
}

/// The cautions of the written fingering and of each alternative.
fn of_chunk(study: &Study, chunk: &Prepared, scale: u16) -> Vec<Caution> {
    let others = (0..chunk.alternatives.len()).filter_map(|index| chunk.in_alternative(index));
    let mut all = study::cautions(study, chunk, scale);
    for other in others {
        for caution in study::cautions(study, &other, scale) {
            if !all.contains(&caution) {
                all.push(caution);
            }
        }
    }
    all
}

fn in_words(chunk: &Prepared, caution: &Caution) -> String {
    let place = place_name(chunk, caution.note);
    format!("“{}”, {place}: {}.", chunk.name, caution.strain.in_words())
}
