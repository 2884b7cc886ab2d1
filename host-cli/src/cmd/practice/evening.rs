//! What is practised one after the other in one go: one study, or what is due of the studies in a folder.

use super::earlier::{Earlier, known};
use super::handler::PracticeHandler;
use super::plan_settings;
use crate::args::PracticeArgs;
use crate::cmd::today::{Asked, DueList};
use crate::fault::Fault;
use crate::live::Source;
use crate::log::StudyText;
use crate::output::Output;
use crate::practice::{Plan, Settings};
use crate::sitting::{Sitting, SittingDetails};
use crate::studies;
use crate::study::Prepared;
use evenhand_core::practice::Piece;
use jiff::civil::Date;
use serde::Serialize;

/// A study, or chunks of it, for as long as it is given.
pub(super) struct Portion {
    chunks: Vec<Prepared>,
    study: StudyText,
    /// Without them it is practised until the player has enough.
    minutes: Option<u32>,
    /// It is there to warm up, and for nothing else.
    warms_up: bool,
    /// Nothing comes after it.
    is_last: bool,
}

/// The study in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct PortionRecord<'a> {
    kind: &'static str,
    study: &'a str,
    study_path: &'a str,
    chunks: Vec<&'a str>,
    minutes: Option<u32>,
    warm_up: bool,
}

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

impl Portion {
    /// Its chunks.
    pub(super) fn chunks(&self) -> &[Prepared] {
        &self.chunks
    }

    /// The study.
    pub(super) const fn study(&self) -> &StudyText {
        &self.study
    }

    /// How long it is given, in minutes.
    pub(super) const fn minutes(&self) -> Option<u32> {
        self.minutes
    }

    /// Whether it is there to warm up, and for nothing else.
    pub(super) const fn warms_up(&self) -> bool {
        self.warms_up
    }

    /// Its plan, with what is known of it; and why that is not known, if it cannot be.
    pub(super) fn plan(
        &self,
        args: &PracticeArgs,
        day: Date,
        can_choose: bool,
    ) -> (Plan, Option<String>) {
        let known = if args.live.no_log {
            Ok(Earlier::default())
        } else {
            known(args, &self.chunks, &self.study, day)
        };
        let (known, unknown) = match known {
            Ok(known) => (known, None),
            Err(why) => (Earlier::default(), Some(why)),
        };
        let settings = plan_settings(args, known, can_choose);
        let warm_up = match (self.warms_up, &args.today) {
            (true, _) => Some(Piece::Chunk(0)),
            // The list has its own.
            (false, Some(_)) => None,
            (false, None) => settings.warm_up,
        };
        (Plan::of_chunks(self.chunks.clone(), &Settings { warm_up, ..settings }), unknown)
    }

    /// What is said instead when everything of it is at its goal, and something else comes.
    pub(super) fn at_goal(&self) -> Option<String> {
        let name = &self.study.name;
        (!self.is_last).then(|| format!("“{name}” is at its goal for today."))
    }

    /// What is said when it begins, where there is a list of them.
    pub(super) fn words(&self, is_first: bool) -> Option<String> {
        let minutes = match self.minutes? {
            1 => "a minute".to_owned(),
            minutes => format!("{minutes} minutes"),
        };
        let now = if is_first { "" } else { "Now " };
        Some(format!("{now}“{}”, for {minutes}.", self.study.name))
    }

    /// The same in the event stream.
    pub(super) fn record(&self, output: &mut Output) -> Result<(), Fault> {
        if self.minutes.is_none() && !self.warms_up {
            return Ok(());
        }
        output.record(&PortionRecord {
            kind: "practised-study",
            study: &self.study.name,
            study_path: &self.study.path,
            chunks: self.chunks.iter().map(|chunk| chunk.name.as_str()).collect(),
            minutes: self.minutes,
            warm_up: self.warms_up,
        })
    }
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
