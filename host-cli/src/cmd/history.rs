//! `evenhand history`: looks back on what has been practised.

use crate::args::{HistoryArgs, OutputArgs};
use crate::days::{PieceDays, StudyDays};
use crate::disputes;
use crate::fault::{Exit, Fault};
use crate::log::{
    self, Attempt, Filter, LogError, RawNote, Reader, StoredSitting, StudyText, Summary,
};
use crate::output::Output;
use crate::practice::trend::Trend;
use crate::report::{self, StyledLine};
use crate::study;
use crate::whole_file::{self, Overwrite};
use jiff::tz::TimeZone;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeSet;
use std::io::ErrorKind;
use std::path::Path;

/// So many names are told where one was not found. Our default: they fit a screen.
const MOST_NAMED: usize = 12;

/// Runs the command.
pub fn run(args: &HistoryArgs) -> Result<Exit, Fault> {
    let zone = TimeZone::system();
    let filter = filter(args, &zone)?;
    let folder = log::folder(args.log.data.as_deref()).map_err(|trouble| {
        Fault::new(Exit::Input, format!("there is no log: {trouble}")).advise(trouble.advice())
    })?;
    if args.log.data.as_ref().is_some_and(|named| !named.is_dir()) {
        let what = format!("there is no folder {}", folder.display());
        return Err(Fault::new(Exit::Input, what)
            .advise("Check the name. Without --data the log is in its usual place."));
    }
    let reader = Reader::open(&folder).map_err(|trouble| fault(&folder, &trouble))?;
    let read = |filter: &Filter| match &reader {
        Some(reader) => reader.read(filter).map_err(|trouble| fault(&folder, &trouble)),
        None => Ok(Vec::new()),
    };
    let kept = read(&filter)?;
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    if kept.is_empty() {
        unknown(&filter, &read)?;
        output.paragraph(nothing(&filter))?;
        return Ok(Exit::Done);
    }
    if let (Some(file), Some(reader)) = (&args.disputed, &reader) {
        let text = |trouble: LogError| fault(&folder, &trouble);
        let (disputed, text) = bundle(&kept, reader, args.names).map_err(text)?;
        put(file, disputed, &text, &mut output)?;
        return Ok(Exit::Done);
    }
    if let (true, Some(reader)) = (args.again, &reader) {
        judge_again(&kept, reader, &mut output).map_err(|trouble| match trouble {
            Trouble::Log(trouble) => fault(&folder, &trouble),
            Trouble::Output(fault) => fault,
        })?;
        return Ok(Exit::Done);
    }
    let in_full = args.sitting.is_some();
    for sitting in &kept {
        write_sitting(sitting, in_full, &zone, &mut output)?;
        if output.is_closed() {
            return Ok(Exit::Done);
        }
    }
    write_summary(&kept, &mut output)?;
    if let Some(reader) = &reader {
        let days = from_day_to_day(&kept, &filter, reader).map_err(|why| fault(&folder, &why))?;
        write_days(&days, &mut output)?;
    }
    Ok(Exit::Done)
}

/// What may go wrong while attempts are judged again.
enum Trouble {
    Log(LogError),
    Output(Fault),
}

/// Judges attempts again, and tells those whose verdict is another today.
fn judge_again(
    kept: &[StoredSitting],
    reader: &Reader,
    output: &mut Output,
) -> Result<(), Trouble> {
    let (mut same, mut other, mut not) = (0_usize, 0_usize, 0_usize);
    for sitting in kept {
        let text = reader.study(&sitting.hash).map_err(Trouble::Log)?;
        let chunks = disputes::chunks(&text).unwrap_or_default();
        for attempt in &sitting.attempts {
            let Some(now) = disputes::again(&chunks, attempt) else {
                not += 1;
                continue;
            };
            let differs = now.verdict != attempt.verdict;
            same += usize::from(!differs);
            other += usize::from(differs);
            let record = AgainRecord {
                kind: "judged-again",
                sitting: sitting.id,
                attempt: attempt.number,
                chunk: &attempt.chunk,
                attempts_together: attempt.together,
                then: attempt.verdict.word(),
                now: now.verdict.word(),
                why: now.why,
            };
            output.record(&record).map_err(Trouble::Output)?;
            if differs {
                let together = match attempt.together {
                    0 | 1 => String::new(),
                    more => format!(" by {more} attempts together"),
                };
                let why = now.why.map_or_else(String::new, |why| format!(" ({why})"));
                let line = format!(
                    "Sitting {}, attempt {}, {}: {}{together} then, {}{why} by itself now.",
                    sitting.id,
                    attempt.number,
                    attempt.chunk,
                    attempt.verdict.word(),
                    now.verdict.word()
                );
                output.paragraph(&line).map_err(Trouble::Output)?;
            }
        }
    }
    let line = format!(
        "{} judged again: {same} as before, {other} otherwise; {not} cannot be judged again by what is \
         kept.",
        report::count(same + other, "attempt")
    );
    output.paragraph(&line).map_err(Trouble::Output)
}

/// An attempt that was judged again, in the event stream.
#[derive(Serialize)]
struct AgainRecord<'a> {
    kind: &'static str,
    sitting: i64,
    attempt: u32,
    chunk: &'a str,
    attempts_together: u8,
    then: &'static str,
    now: &'static str,
    why: Option<&'static str>,
}

/// The disputed attempts of these sittings, as the text of a file, and how many they are.
fn bundle(kept: &[StoredSitting], reader: &Reader, names: bool) -> Result<(u32, String), LogError> {
    let (mut count, mut text) = (0, disputes::head());
    for sitting in kept {
        for attempt in sitting.attempts.iter().filter(|attempt| attempt.disputed) {
            let Some(evidence) = reader.evidence(sitting.id, attempt.number)? else { continue };
            let names = names.then_some((sitting.study.as_str(), attempt.chunk.as_str()));
            text += &disputes::line(attempt, &sitting.program, &evidence, names);
            count += 1;
        }
    }
    Ok((count, text))
}

/// Writes the file, where none is.
fn put(file: &Path, disputed: u32, text: &str, output: &mut Output) -> Result<(), Fault> {
    if disputed == 0 {
        return output.paragraph("No attempt like this is disputed: no file was written.");
    }
    let shown = file.display();
    whole_file::put(file, text.as_bytes(), Overwrite::Nothing).map_err(|error| {
        let fault = Fault::new(Exit::Output, format!("{shown} was not written: {error}"));
        fault.advise(match error.kind() {
            ErrorKind::AlreadyExists => "Name a file that is not there yet.",
            _ => "Check who may write there, and whether there is room.",
        })
    })?;
    let attempts = match disputed {
        1 => "One disputed attempt is".to_owned(),
        more => format!("{more} disputed attempts are"),
    };
    output.paragraph(&format!(
        "{attempts} in {shown}: what was to be played, what the pickup sent, and the verdict; no \
         person, day or folder. It is text, to be read before it is sent."
    ))?;
    output.record(&WrittenRecord {
        kind: "disputed-file",
        file: &shown.to_string(),
        attempts: disputed,
    })
}

/// The file in the event stream.
#[derive(Serialize)]
struct WrittenRecord<'a> {
    kind: &'static str,
    file: &'a str,
    attempts: u32,
}

fn filter(args: &HistoryArgs, zone: &TimeZone) -> Result<Filter, Fault> {
    let since = args.since.map(|day| {
        let start = day.to_zoned_datetime(zone.clone()).map(|start| start.timestamp());
        start.map_err(|_| {
            Fault::new(Exit::Usage, format!("{day} is out of the range of dates"))
                .advise("Name a day since you began.")
        })
    });
    Ok(Filter {
        study: args.study.clone(),
        chunk: args.chunk.clone(),
        who: args.who.clone(),
        since: since.transpose()?,
        last: args.last,
        sitting: args.sitting,
    })
}

fn fault(folder: &Path, trouble: &LogError) -> Fault {
    let file = folder.join(log::FILE);
    Fault::new(Exit::Input, format!("the log {} cannot be read: {trouble}", file.display()))
        .advise(trouble.advice())
}

/// What is asked for by a name or a number that is nowhere in the log.
fn unknown(
    filter: &Filter,
    read: &impl Fn(&Filter) -> Result<Vec<StoredSitting>, Fault>,
) -> Result<(), Fault> {
    let all = read(&Filter::default())?;
    let every = Filter::default;
    let named = |name: &Option<String>| name.as_ref().map(|name| format!("“{name}”"));
    let chunks = || all.iter().flat_map(|sitting| &sitting.attempts).map(|one| one.chunk.clone());
    for (what, asked, alone, known) in [
        (
            "study",
            named(&filter.study),
            Filter { study: filter.study.clone(), ..every() },
            all.iter().map(|sitting| sitting.study.clone()).collect::<BTreeSet<_>>(),
        ),
        (
            "chunk",
            named(&filter.chunk),
            Filter { chunk: filter.chunk.clone(), ..every() },
            chunks().collect(),
        ),
        (
            "player",
            named(&filter.who),
            Filter { who: filter.who.clone(), ..every() },
            all.iter().filter_map(|sitting| sitting.who.clone()).collect(),
        ),
        (
            "sitting",
            filter.sitting.map(|number| number.to_string()),
            Filter { sitting: filter.sitting, ..every() },
            all.iter().map(|sitting| sitting.id.to_string()).collect(),
        ),
    ] {
        if let Some(asked) = asked
            && read(&alone)?.is_empty()
        {
            let fault = Fault::new(Exit::Usage, format!("no {what} {asked} is in the log"));
            return Err(fault.advise(match known.len() {
                0 => format!("No {what} has been kept in it yet."),
                1..=MOST_NAMED => {
                    format!("In it: {}.", known.into_iter().collect::<Vec<_>>().join(", "))
                }
                _ => "`evenhand history` alone shows all that is in it.".to_owned(),
            }));
        }
    }
    Ok(())
}

fn nothing(filter: &Filter) -> &'static str {
    if *filter == Filter::default() {
        "Nothing has been kept yet. `evenhand listen STUDY --raw PATH` keeps every attempt that \
         it judges."
    } else {
        "Nothing like this has been kept. `evenhand history` alone shows everything that has."
    }
}

fn write_sitting(
    sitting: &StoredSitting,
    in_full: bool,
    zone: &TimeZone,
    output: &mut Output,
) -> Result<(), Fault> {
    for line in report::sitting_head(sitting, zone) {
        output.show(&line)?;
    }
    output.record(&SittingRecord::of(sitting))?;
    for attempt in &sitting.attempts {
        if in_full {
            output.say("")?;
            for line in report::attempt_in_full(attempt, zone) {
                output.show(&line)?;
            }
        } else {
            output.say(&report::attempt_line(attempt, zone))?;
        }
        output.record(&AttemptRecord::of(sitting.id, attempt, in_full))?;
    }
    output.say("")
}

fn write_summary(kept: &[StoredSitting], output: &mut Output) -> Result<(), Fault> {
    let mut summary = Summary::default();
    for attempt in kept.iter().flat_map(|sitting| &sitting.attempts) {
        summary.add(attempt);
    }
    if summary.chunks().is_empty() {
        return Ok(());
    }
    output.show(&StyledLine::strong("By chunk"))?;
    for chunk in summary.chunks() {
        output.set_in(&report::chunk_summary(chunk), "  ", "    ")?;
        output.record(&report::summary_record(chunk))?;
    }
    Ok(())
}

/// The days of each piece that was played, study by study, as the latest text of the study has it.
fn from_day_to_day(
    kept: &[StoredSitting],
    filter: &Filter,
    reader: &Reader,
) -> Result<Vec<PieceDays>, LogError> {
    let mut seen: Vec<&str> = Vec::new();
    let mut all = Vec::new();
    for sitting in kept.iter().rev().filter(|sitting| sitting.who == filter.who) {
        if seen.contains(&sitting.study.as_str()) {
            continue;
        }
        seen.push(&sitting.study);
        let text = reader.study(&sitting.hash)?;
        let Ok(chunks) = study::parse(&text).and_then(|study| study.prepare()) else { continue };
        let (path, name) = (sitting.path.clone(), sitting.study.clone());
        let study = StudyText { path, name, text };
        let days = StudyDays::of(&chunks, &study, filter.who.as_deref(), kept, reader)?;
        let asked = |days: &&PieceDays| filter.chunk.as_ref().is_none_or(|name| *name == days.name);
        all.extend(days.pieces().iter().filter(asked).cloned());
    }
    Ok(all)
}

fn write_days(days: &[PieceDays], output: &mut Output) -> Result<(), Fault> {
    let told: Vec<(&PieceDays, String)> =
        days.iter().filter_map(|days| Some((days, report::piece_days(days)?))).collect();
    if told.is_empty() {
        return Ok(());
    }
    output.say("")?;
    output.show(&StyledLine::strong("From day to day"))?;
    for (days, words) in told {
        output.set_in(&words, "  ", "    ")?;
        output.record(&DaysRecord::of(days))?;
    }
    Ok(())
}

/// The days of a piece in the event stream.
#[derive(Serialize)]
struct DaysRecord<'a> {
    kind: &'static str,
    piece: &'a str,
    goal: u32,
    fastest: Option<u32>,
    days: Vec<(String, Option<u32>)>,
    trend: &'static str,
    per_mille_a_day: Option<[i64; 3]>,
}

impl<'a> DaysRecord<'a> {
    fn of(days: &'a PieceDays) -> Self {
        let rise = days.rise();
        let per_mille = |share: f64| (share * 1_000.0).round() as i64;
        Self {
            kind: "piece-days",
            piece: &days.name,
            goal: days.goal,
            fastest: days.fastest,
            days: days.days.iter().map(|(day, best)| (day.to_string(), *best)).collect(),
            trend: match rise.map(|rise| rise.trend) {
                Some(Trend::Progress) => "progress",
                Some(Trend::Plateau) => "plateau",
                Some(Trend::TooEarly) | None => "too-early",
            },
            per_mille_a_day: rise.map(|rise| [rise.a_day, rise.least, rise.most].map(per_mille)),
        }
    }
}

/// A sitting in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct SittingRecord<'a> {
    kind: &'static str,
    sitting: i64,
    began_at: String,
    ended_at: String,
    who: Option<&'a str>,
    study: &'a str,
    study_path: &'a str,
    study_hash: &'a str,
    attempts: usize,
}

impl<'a> SittingRecord<'a> {
    fn of(sitting: &'a StoredSitting) -> Self {
        Self {
            kind: "sitting",
            sitting: sitting.id,
            began_at: log::written(sitting.began),
            ended_at: log::written(sitting.ended),
            who: sitting.who.as_deref(),
            study: &sitting.study,
            study_path: &sitting.path,
            study_hash: &sitting.hash,
            attempts: sitting.attempts.len(),
        }
    }
}

/// An attempt in the event stream.
#[derive(Serialize)]
struct AttemptRecord<'a> {
    kind: &'static str,
    sitting: i64,
    attempt: u32,
    began_at: String,
    chunk: &'a str,
    level: &'a str,
    practised_hundredths: u32,
    heard_hundredths: Option<u32>,
    verdict: &'static str,
    attempts_together: u8,
    false_starts: u16,
    interrupted: bool,
    disputed: bool,
    findings: Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    notes: Option<Vec<NoteRecord>>,
}

impl<'a> AttemptRecord<'a> {
    fn of(sitting: i64, attempt: &'a Attempt, with_notes: bool) -> Self {
        Self {
            kind: "kept-attempt",
            sitting,
            attempt: attempt.number,
            began_at: log::written(attempt.began),
            chunk: &attempt.chunk,
            level: &attempt.level,
            practised_hundredths: attempt.practised,
            heard_hundredths: attempt.heard,
            verdict: attempt.verdict.word(),
            attempts_together: attempt.together,
            false_starts: attempt.false_starts,
            interrupted: attempt.interrupted,
            disputed: attempt.disputed,
            findings: serde_json::from_str(&attempt.findings).unwrap_or_default(),
            notes: with_notes.then(|| attempt.notes.iter().map(NoteRecord::of).collect()),
        }
    }
}

/// A played note in the event stream.
#[derive(Serialize)]
struct NoteRecord {
    at_us: i32,
    lasted_us: Option<i32>,
    string: Option<u8>,
    pitch: u8,
    velocity: Option<u8>,
    began_by: u8,
}

impl NoteRecord {
    fn of(note: &RawNote) -> Self {
        Self {
            at_us: note.at_us,
            lasted_us: note.lasted_us,
            string: note.string,
            pitch: note.pitch,
            velocity: note.velocity,
            began_by: note.began_by.code(),
        }
    }
}
