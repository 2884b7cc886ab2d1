//! A study in an evening, or the only one: what of it is practised, and for how long.

use super::earlier::{Earlier, known};
use super::plan_settings;
use crate::args::PracticeArgs;
use crate::fault::Fault;
use crate::log::StudyText;
use crate::output::Output;
use crate::practice::{Plan, Settings};
use crate::study::Prepared;
use evenhand_core::practice::Piece;
use jiff::civil::Date;
use serde::Serialize;

/// A study, or chunks of it, for as long as it is given.
pub(super) struct Portion {
    pub(super) chunks: Vec<Prepared>,
    pub(super) study: StudyText,
    /// Without them it is practised until the player has enough.
    pub(super) minutes: Option<u32>,
    /// It is there to warm up, and for nothing else.
    pub(super) warms_up: bool,
    /// Nothing comes after it.
    pub(super) is_last: bool,
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
