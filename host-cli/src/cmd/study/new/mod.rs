//! `evenhand study new`: four bars with comments, or bars by the answers to five questions, to be changed into
//! one's own.

mod questions;
mod skeleton;

use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::output::path;
use std::io;
use std::path::Path;

/// What is written where nothing is asked.
const TEMPLATE: &str = include_str!("template.study");

pub(super) fn run(
    file: &Path,
    ask: bool,
    replace: bool,
    output: &mut Output,
) -> Result<Exit, Fault> {
    let shown = file.display();
    if !ask {
        path::put(file, TEMPLATE.as_bytes(), replace)?;
        output.say(&format!(
            "{shown}: four bars with comments, to be changed in any editor for text."
        ))?;
        output.say(&format!("To see whether it is right: evenhand study check {shown}"))?;
        return Ok(Exit::Done);
    }
    // Before five answers are given for nothing.
    path::find(file, replace)?;
    let answers = questions::ask(&mut io::stdin().lock(), output)?;
    path::put(file, skeleton::text(&answers).as_bytes(), replace)?;
    output.say(&format!(
        "{shown}: {} of open strings in {}, to be changed into yours in any editor for text.",
        answers.bars_in_words(),
        answers.chunks_in_words()
    ))?;
    output.say(&format!("To see whether it is right: evenhand study check {shown}"))?;
    Ok(Exit::Done)
}
