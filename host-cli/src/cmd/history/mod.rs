//! `evenhand history`: looks back on what has been practised.

mod again;
mod disputed;
mod list;
mod progress;
mod records;
mod unknown;

use crate::args::{HistoryArgs, OutputArgs};
use crate::cmd::today::course;
use crate::days::day_of;
use crate::fault::{Exit, Fault};
use crate::log::{self, Filter, LogError, Reader};
use crate::output::Output;
use again::{Trouble, judge_again};
use jiff::tz::TimeZone;
use progress::Progress;
use std::path::Path;

/// Runs the command.
pub fn run(args: &HistoryArgs) -> Result<Exit, Fault> {
    let zone = TimeZone::system();
    let filter = filter(args, &zone)?;
    let folder = log::folder(args.log.data.as_deref()).map_err(|trouble| {
        Fault::new(Exit::Input, format!("there is no log: {trouble}")).advise(trouble.advice())
    })?;
    if args.log.data.as_ref().is_some_and(|named| !named.is_dir()) {
        return Err(unknown::folder(&folder));
    }
    if let Some(file) = &args.svg {
        progress::is_a_picture(file)?;
    }
    let course = args.course.as_deref().map(course::read).transpose()?;
    let reader = Reader::open(&folder).map_err(|trouble| fault(&folder, &trouble))?;
    let read = |filter: &Filter| match &reader {
        Some(reader) => reader.read(filter).map_err(|trouble| fault(&folder, &trouble)),
        None => Ok(Vec::new()),
    };
    let kept = read(&filter)?;
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    let Some(reader) = reader.as_ref().filter(|_| !kept.is_empty()) else {
        unknown::name(&filter, &read)?;
        output.paragraph(nothing(&filter))?;
        return Ok(Exit::Done);
    };
    if let Some(file) = &args.disputed {
        let text = |trouble: LogError| fault(&folder, &trouble);
        let (number, text) = disputed::bundle(&kept, reader, args.names).map_err(text)?;
        disputed::put(file, number, &text, &mut output)?;
        return Ok(Exit::Done);
    }
    if args.again {
        judge_again(&kept, reader, &mut output).map_err(|trouble| match trouble {
            Trouble::Log(trouble) => fault(&folder, &trouble),
            Trouble::Output(fault) => fault,
        })?;
        return Ok(Exit::Done);
    }
    // Whoever names days, a number or a sitting has said how much; and a program can choose by itself.
    let chosen = args.all || args.events || args.since.is_some();
    let chosen = chosen || args.last.is_some() || args.sitting.is_some();
    let (shown, left_out) =
        if chosen { (kept, list::LeftOut::default()) } else { list::latest(kept, &zone) };
    list::write(&shown, args.sitting.is_some(), &zone, &mut output)?;
    list::write_left_out(left_out, &mut output)?;
    if args.sitting.is_none() && !output.is_closed() {
        let progress = |trouble| fault(&folder, &trouble);
        // The first try of a day is looked for among all of the day.
        let mut all = read(&Filter { study: args.study.clone(), ..Filter::default() })?;
        if let Some(on) = args.on {
            // What comes after that day has not been played yet.
            all.iter_mut()
                .for_each(|sitting| sitting.attempts.retain(|one| day_of(one.began) <= on));
        }
        let progress = Progress::of(&all, args, reader).map_err(progress)?;
        progress.write(args, course.as_ref(), &mut output)?;
    }
    Ok(Exit::Done)
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

fn nothing(filter: &Filter) -> &'static str {
    if *filter == Filter::default() {
        "Nothing has been kept yet. `evenhand listen STUDY --raw PATH` keeps every attempt that \
         it judges."
    } else {
        "Nothing like this has been kept. `evenhand history` alone shows everything that has."
    }
}
