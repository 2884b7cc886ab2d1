//! `evenhand study`: makes a study, checks it, shows it, lets it be heard, or has it played.

mod check;
mod export;
mod gather;
mod hear;
mod import;
mod new;
mod play;

pub(super) use import::imported;

use crate::args::{OutputArgs, StudyAction, StudyArgs};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::report;
use crate::studies;

/// Runs the command.
pub fn run(args: &StudyArgs) -> Result<Exit, Fault> {
    let mut output =
        Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })?;
    match &args.action {
        StudyAction::New { file, ask, replace } => new::run(file, *ask, *replace, &mut output),
        StudyAction::Gather { study, out, replace } => {
            gather::run(study, out, *replace, &mut output)
        }
        StudyAction::Export(args) => export::run(args, &mut output),
        StudyAction::Import(args) => import::run(args, &mut output),
        StudyAction::Hear(args) => hear::run(args, &mut output),
        StudyAction::Play(args) => play::run(args, &mut output),
        StudyAction::Check { studies, scale } => check::run(studies, *scale, &mut output),
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
