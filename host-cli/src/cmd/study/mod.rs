//! `evenhand study`: makes a study, checks it, shows it, lets it be heard, or has it played.

mod gather;
mod hear;
mod new;
mod play;

use crate::args::{OutputArgs, StudyAction, StudyArgs};
use crate::fault::{Exit, Fault};
use crate::output::{Output, warn};
use crate::report::{self, count};
use crate::studies;

/// Runs the command.
pub fn run(args: &StudyArgs) -> Result<Exit, Fault> {
    let mut output =
        Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })?;
    match &args.action {
        StudyAction::New { file, replace } => new::run(file, *replace, &mut output),
        StudyAction::Gather { study, out, replace } => {
            gather::run(study, out, *replace, &mut output)
        }
        StudyAction::Hear(args) => hear::run(args, &mut output),
        StudyAction::Play(args) => play::run(args, &mut output),
        StudyAction::Check { studies } => {
            let mut failed: Option<Fault> = None;
            for path in studies {
                match studies::read(path) {
                    Ok(chunks) => {
                        let notes: usize = chunks.iter().map(|chunk| chunk.notes.len()).sum();
                        output.say(&format!(
                            "{}: right ({}, {})",
                            path.display(),
                            count(chunks.len(), "chunk"),
                            count(notes, "note")
                        ))?;
                    }
                    Err(fault) => {
                        if let Some(before) = failed.replace(fault) {
                            warn(&before.to_string());
                        }
                    }
                }
            }
            match failed {
                Some(fault) => Err(fault),
                None => Ok(Exit::Done),
            }
        }
        StudyAction::Show { study, chunk } => {
            let chunks = studies::choose(studies::read(study)?, chunk)?;
            for chunk in &chunks {
                for line in report::chunk(chunk) {
                    output.show(&line)?;
                }
                output.say("")?;
            }
            Ok(Exit::Done)
        }
    }
}
