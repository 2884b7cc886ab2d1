//! The list of what is kept, day by day.

use super::records::{AttemptRecord, SittingRecord};
use crate::fault::Fault;
use crate::log::{Attempt, StoredSitting, Summary};
use crate::output::Output;
use crate::report::{self, StyledLine};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeSet;

/// So many days are listed without being asked for more, the latest on which something was played. Our
/// default: what one remembers.
const DAYS: usize = 3;

/// So many attempts at most. Our default: a
/// screen or two.
const ATTEMPTS: usize = 40;

/// What is not listed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct LeftOut {
    attempts: usize,
    days: usize,
}

/// The latest days of what is kept, and what that leaves out.
pub(super) fn latest(kept: Vec<StoredSitting>, zone: &TimeZone) -> (Vec<StoredSitting>, LeftOut) {
    let day = |attempt: &Attempt| zone.to_datetime(attempt.began).date();
    let all = || kept.iter().flat_map(|sitting| &sitting.attempts);
    let days: BTreeSet<Date> = all().map(day).collect();
    let since = days.iter().rev().take(DAYS).next_back().copied();
    let of_days = all().filter(|attempt| Some(day(attempt)) >= since).count();
    let (count, listed) = (all().count(), of_days.min(ATTEMPTS));
    let mut skip = count - listed;
    let mut left_out = LeftOut { attempts: skip, days: 0 };
    let mut shown = kept;
    // Sittings come in order, and so do attempts in them.
    for sitting in &mut shown {
        let here = skip.min(sitting.attempts.len());
        sitting.attempts.drain(..here);
        skip -= here;
    }
    shown.retain(|sitting| !sitting.attempts.is_empty());
    let seen: BTreeSet<Date> =
        shown.iter().flat_map(|sitting| &sitting.attempts).map(day).collect();
    left_out.days = days.len() - seen.len();
    (shown, left_out)
}

/// Says what is not listed, and how it is.
pub(super) fn write_left_out(left_out: LeftOut, output: &mut Output) -> Result<(), Fault> {
    let LeftOut { attempts, days } = left_out;
    if attempts == 0 {
        return Ok(());
    }
    let attempts = report::count(attempts, "earlier attempt");
    let are = if attempts.starts_with("1 ") { "is" } else { "are" };
    let days = match days {
        0 => String::new(),
        days => format!(", {} among them as a whole", report::count(days, "day")),
    };
    output.say("")?;
    output.paragraph(&format!(
        "{attempts} {are} not listed{days}. `--all` lists everything, `--since 2026-03-31` what was played \
         since that day."
    ))
}

/// Lists these sittings under the days on which they were played, and sums up each chunk.
pub(super) fn write(
    shown: &[StoredSitting],
    in_full: bool,
    zone: &TimeZone,
    output: &mut Output,
) -> Result<(), Fault> {
    let mut heading = None;
    for sitting in shown {
        write_sitting(sitting, in_full, zone, &mut heading, output)?;
        if output.is_closed() {
            return Ok(());
        }
    }
    write_summary(shown, output)
}

fn write_sitting(
    sitting: &StoredSitting,
    in_full: bool,
    zone: &TimeZone,
    heading: &mut Option<Date>,
    output: &mut Output,
) -> Result<(), Fault> {
    output.record(&SittingRecord::of(sitting))?;
    let began = zone.to_datetime(sitting.began).date();
    let mut today = None;
    for attempt in &sitting.attempts {
        let day = zone.to_datetime(attempt.began).date();
        if today != Some(day) {
            if today.is_some() {
                output.say("")?;
            }
            if heading.replace(day) != Some(day) {
                output.show(&report::day_head(day))?;
            }
            today = Some(day);
            for line in report::sitting_head(sitting, day != began, zone) {
                output.show(&line)?;
            }
        }
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

fn write_summary(shown: &[StoredSitting], output: &mut Output) -> Result<(), Fault> {
    let mut summary = Summary::default();
    for attempt in shown.iter().flat_map(|sitting| &sitting.attempts) {
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
