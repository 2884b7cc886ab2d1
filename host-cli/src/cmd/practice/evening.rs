//! What is practised one after the other in one go: one study, or what is due of the studies in a folder.

use super::handler::PracticeHandler;
use super::portion::Portion;
use crate::args::PracticeArgs;
use crate::cmd::today::{Asked, DueList};
use crate::fault::Fault;
use crate::live::Source;
use crate::output::Output;
use crate::sitting::{Sitting, SittingDetails};
use crate::studies;
use jiff::civil::Date;

/// What is to be practised; nothing where nothing is due, which has been said then.
pub(super) fn portions(args: &PracticeArgs, day: Date) -> Result<Vec<Portion>, Fault> {
    let of =
        |file: &std::path::Path, chunks: &[String], minutes, warms_up| -> Result<Portion, Fault> {
            let (all, study) = studies::read_whole(file)?;
            let mut chunks = studies::choose(all, chunks)?;
            studies::adjust(&mut chunks, &args.hearing)?;
            Ok(Portion { chunks, study, minutes, warms_up, is_last: args.today.is_none() })
        };
    let Some(folder) = &args.today else {
        let study = args.study.iter().map(|study| of(study, &args.chunk, None, false));
        return study.collect();
    };
    let (who, data) = (args.live.who.as_deref(), args.live.log.data.as_deref());
    let (minutes, course) = (args.minutes, args.course.as_deref());
    let list = DueList::of(&Asked { folder, minutes, who, data, course }, day)?;
    let due = list.by_study();
    if due.is_empty() {
        Output::new(&args.output)?.paragraph(list.nothing())?;
        return Ok(Vec::new());
    }
    // By steps there is nothing but steps.
    let warm_up = list.warm_up().filter(|_| !args.by_steps);
    let warm_up = warm_up.map(|(file, chunk)| of(file, &[chunk.to_owned()], None, true));
    let due = due.iter().map(|due| of(due.file, &due.chunks(), Some(due.minutes()), false));
    let mut portions: Vec<Portion> = warm_up.into_iter().chain(due).collect::<Result<_, _>>()?;
    if let Some(last) = portions.last_mut() {
        last.is_last = true;
    }
    Ok(portions)
}

/// Turns to the next portion, as a sitting of its own.
pub(super) fn turn_to(
    portion: &Portion,
    handler: &mut PracticeHandler,
    source: &Source,
    about: &SittingDetails<'_>,
    (args, day, can_choose): (&PracticeArgs, Date, bool),
) -> Result<(), Fault> {
    let (plan, unknown) = portion.plan(args, day, can_choose);
    let study = portion.study.clone();
    let sitting = Sitting::begin(about, study, source, handler.output())?;
    handler.turn_to(portion, plan, sitting, source.now())?;
    if let Some(why) = unknown {
        handler.notice(&why);
    }
    Ok(())
}
