//! `evenhand study new`: four bars with comments, to be changed into one's own.

use super::super::output::Output;
use super::super::output_path;
use crate::fault::{Exit, Fault};
use std::path::Path;

/// What is written.
const TEMPLATE: &str = include_str!("template.study");

pub(super) fn run(file: &Path, replace: bool, output: &mut Output) -> Result<Exit, Fault> {
    output_path::put(file, TEMPLATE.as_bytes(), replace)?;
    let shown = file.display();
    output.paragraph(&format!(
        "{shown}: four bars with comments. Change them in any editor for text; `evenhand study \
         check {shown}` says whether they are right."
    ))?;
    Ok(Exit::Done)
}
