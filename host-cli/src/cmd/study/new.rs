//! `evenhand study new`: four bars with comments, to be changed into one's own.

use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::output::path;
use std::path::Path;

/// What is written.
const TEMPLATE: &str = include_str!("template.study");

pub(super) fn run(file: &Path, replace: bool, output: &mut Output) -> Result<Exit, Fault> {
    path::put(file, TEMPLATE.as_bytes(), replace)?;
    let shown = file.display();
    output
        .say(&format!("{shown}: four bars with comments, to be changed in any editor for text."))?;
    output.say(&format!("To see whether it is right: evenhand study check {shown}"))?;
    Ok(Exit::Done)
}
