//! `evenhand today`: what is due today of the studies in a folder.

use crate::args::{OutputArgs, TodayArgs};
use crate::days::{Due, StudyDays, Why, due, today};
use crate::fault::{Exit, Fault};
use crate::log::{self, Filter, Reader};
use crate::output::{Output, warn};
use crate::report::StyledLine;
use crate::studies;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Studies in one folder, at most. Our default: a year of them, one a day.
const MOST_STUDIES: usize = 400;

/// Runs the command.
pub fn run(args: &TodayArgs) -> Result<Exit, Fault> {
    let files = studies_in(&args.folder)?;
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    let folder = log::folder(args.log.data.as_deref()).map_err(|trouble| {
        Fault::new(Exit::Input, format!("there is no log: {trouble}")).advise(trouble.advice())
    })?;
    let fault = |trouble: log::LogError| {
        let file = folder.join(log::FILE);
        let what = format!("the log {} cannot be read: {trouble}", file.display());
        Fault::new(Exit::Input, what).advise(trouble.advice())
    };
    let reader = Reader::open(&folder).map_err(fault)?;
    let sittings = match &reader {
        Some(reader) => reader.read(&Filter::default()).map_err(fault)?,
        None => Vec::new(),
    };
    let (mut known, mut names) = (Vec::new(), Vec::new());
    for file in files {
        // One study that is not right is no reason not to practise the others.
        let (chunks, study) = match studies::read_whole(&file) {
            Ok(read) => read,
            Err(fault) => {
                warn(&format!("{} is left out: {}", file.display(), first_line(&fault.what)));
                continue;
            }
        };
        let days = match &reader {
            Some(reader) => {
                let who = args.who.as_deref();
                StudyDays::of(&chunks, &study, who, &sittings, reader).map_err(fault)?
            }
            None => StudyDays::new(&chunks),
        };
        known.push(days);
        names.push((study.name, file));
    }
    let (found, beyond) = due(&known, today(), args.minutes);
    tell(&found, beyond, &names, args, &mut output)?;
    Ok(Exit::Done)
}

/// The studies of a folder, by name.
fn studies_in(folder: &Path) -> Result<Vec<PathBuf>, Fault> {
    let shown = folder.display();
    let entries = std::fs::read_dir(folder).map_err(|error| {
        Fault::new(Exit::Input, format!("the folder {shown} cannot be read: {error}"))
            .advise("Name the folder that your studies are in.")
    })?;
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let mut files: Vec<PathBuf> =
        paths.filter(|path| path.extension().is_some_and(|end| end == "study")).collect();
    files.sort();
    if files.is_empty() {
        return Err(Fault::new(Exit::Input, format!("there is no study in {shown}")).advise(
            "Studies are files that end in .study; `evenhand study new my.study` begins one.",
        ));
    }
    if files.len() > MOST_STUDIES {
        warn(&format!("only the first {MOST_STUDIES} of {} studies are looked at", files.len()));
        files.truncate(MOST_STUDIES);
    }
    Ok(files)
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}

fn tell(
    found: &[Due],
    beyond: usize,
    names: &[(String, PathBuf)],
    args: &TodayArgs,
    output: &mut Output,
) -> Result<(), Fault> {
    if found.is_empty() {
        output.paragraph(match beyond {
            0 => "Nothing is due today: what was played needs its night. Come back tomorrow.",
            _ => "Nothing that is due fits into so few minutes. Take ten, or leave it for today.",
        })?;
    }
    // Study by study, in the order of what is most pressing in each.
    let mut order: Vec<usize> = Vec::new();
    for due in found {
        if !order.contains(&due.study) {
            order.push(due.study);
        }
    }
    for study in order {
        let Some((name, file)) = names.get(study) else { continue };
        output.show(&StyledLine::strong(name))?;
        let own: Vec<&Due> = found.iter().filter(|due| due.study == study).collect();
        for due in &own {
            let line = format!("{} minutes, {}: {}", due.minutes, quoted(&due.name), words(due));
            output.set_in(&line, "  ", "    ")?;
            output.record(&DueRecord::of(name, file, due))?;
        }
        output.say(&format!("  {}", command(file, &own, args)))?;
        output.say("")?;
    }
    if beyond > 0 && !found.is_empty() {
        let what = match beyond {
            1 => "One more piece is due, which does not fit".to_owned(),
            more => format!("{more} more pieces are due, which do not fit"),
        };
        output.paragraph(&format!("{what} into {} minutes.", args.minutes))?;
    }
    Ok(())
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
        }
    }
}
