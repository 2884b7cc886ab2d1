//! `evenhand today`: what is due today of the studies in a folder.

pub(in crate::cmd) mod course;
mod due_list;

pub(in crate::cmd) use due_list::{Asked, DueList, OfStudy};

use crate::args::{OutputArgs, TodayArgs};
use crate::days::{Due, Why, today};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::report::StyledLine;
use serde::Serialize;
use std::path::Path;

/// Runs the command.
pub fn run(args: &TodayArgs) -> Result<Exit, Fault> {
    let day = args.on.unwrap_or_else(today);
    let data = args.log.data.as_deref();
    let about = Asked {
        folder: &args.folder,
        minutes: args.minutes,
        who: args.who.as_deref(),
        data,
        course: args.course.as_deref(),
    };
    let list = DueList::of(&about, day)?;
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    tell(&list, args, &mut output)?;
    if let Some(course) = list.course() {
        course::write(course, &list.in_course(), day, &mut output)?;
    }
    Ok(Exit::Done)
}

fn tell(list: &DueList, args: &TodayArgs, output: &mut Output) -> Result<(), Fault> {
    let by_study = list.by_study();
    if by_study.is_empty() {
        output.paragraph(list.nothing())?;
    }
    for OfStudy { name, file, due: own, .. } in &by_study {
        output.show(&StyledLine::strong(*name))?;
        for due in own {
            let alike = due.alike.as_ref().map(|twin| {
                format!(" It is much like {}, so it does not come last.", quoted(twin))
            });
            let line = format!(
                "{} minutes, {}: {}{}",
                due.minutes,
                quoted(&due.name),
                words(due),
                alike.unwrap_or_default()
            );
            output.set_in(&line, "  ", "    ")?;
            output.record(&DueRecord::of(name, file, due))?;
        }
        output.say(&format!("  {}", command(file, own, args)))?;
        output.say("")?;
    }
    if list.beyond > 0 && !by_study.is_empty() {
        let what = match list.beyond {
            1 => "One more piece is due, which does not fit".to_owned(),
            more => format!("{more} more pieces are due, which do not fit"),
        };
        output.paragraph(&format!("{what} into {} minutes.", args.minutes))?;
    }
    if !by_study.is_empty() && args.on.is_none() {
        output.paragraph("All of it, study after study, each for its minutes:")?;
        output.say(&format!("  {}", command_for_all(args)))?;
    }
    Ok(())
}

/// The command that practises all of the list.
fn command_for_all(args: &TodayArgs) -> String {
    let folder = worded(&args.folder.display().to_string());
    let mut words = vec![format!("evenhand practice --today {folder} --minutes {}", args.minutes)];
    let course = args.course.iter().map(|course| course.display().to_string());
    words.extend(course.map(|course| format!("--course {}", worded(&course))));
    words.extend(args.who.iter().map(|who| format!("--for {}", worded(who))));
    words.join(" ")
}

fn quoted(name: &str) -> String {
    format!("“{name}”")
}

/// Why it is due.
fn words(due: &Due) -> String {
    let Due { goal, .. } = due;
    match due.why {
        Why::NotCleanYet => format!("begun, and not clean yet; {goal} is the goal."),
        Why::BelowGoal { fastest, is_stuck: false } => format!("clean at {fastest} of {goal}."),
        Why::BelowGoal { fastest, is_stuck: true } => format!(
            "clean at {fastest} of {goal}, and for weeks no faster: change the rhythm, the \
             fingering, or take less of it."
        ),
        Why::Join => "both are clean by themselves; now in one.".to_owned(),
        Why::Keep { days: 1 } => {
            format!("at its goal, {goal}, since yesterday: is it still there?")
        }
        Why::Keep { days } => format!("at its goal, {goal}; not played for {days} days."),
        Why::New => format!("new; {goal} is the goal."),
    }
}

/// The command that practises these pieces.
fn command(file: &Path, due: &[&Due], args: &TodayArgs) -> String {
    let mut words = vec!["evenhand practice".to_owned(), worded(&file.display().to_string())];
    let mut chunks: Vec<&str> = Vec::new();
    // A join is made of its chunks, by practice itself.
    for chunk in due.iter().flat_map(|due| &due.chunks) {
        if !chunks.contains(&chunk.as_str()) {
            chunks.push(chunk);
        }
    }
    words.extend(chunks.iter().map(|chunk| format!("--chunk {}", worded(chunk))));
    words.extend(args.who.iter().map(|who| format!("--for {}", worded(who))));
    words.join(" ")
}

/// A word as a shell takes it.
fn worded(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "./_-".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("\"{}\"", word.replace('\\', "\\\\").replace('"', "\\\""))
}

/// A piece that is due in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct DueRecord<'a> {
    kind: &'static str,
    study: &'a str,
    study_path: String,
    piece: &'a str,
    minutes: u32,
    goal: u32,
    reason: &'static str,
    fastest: Option<u32>,
    days: Option<i32>,
    alike: Option<&'a str>,
}

impl<'a> DueRecord<'a> {
    fn of(study: &'a str, file: &Path, due: &'a Due) -> Self {
        let (reason, fastest, days) = match due.why {
            Why::NotCleanYet => ("not-clean-yet", None, None),
            Why::BelowGoal { fastest, is_stuck: false } => ("below-goal", Some(fastest), None),
            Why::BelowGoal { fastest, is_stuck: true } => ("plateau", Some(fastest), None),
            Why::Join => ("join", None, None),
            Why::Keep { days } => ("keep", None, Some(days)),
            Why::New => ("new", None, None),
        };
        Self {
            kind: "due",
            study,
            study_path: file.display().to_string(),
            piece: &due.name,
            minutes: due.minutes,
            goal: due.goal,
            reason,
            fastest,
            days,
            alike: due.alike.as_deref(),
        }
    }
}
