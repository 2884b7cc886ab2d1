//! What has been kept, in words and as records.

use super::{StyledLine, WIDTH, wrapped};
use crate::log::{Attempt, ChunkSummary, Finding, StoredSitting};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;

/// Columns of a chunk's name and of a tempo in a list.
const NAME: usize = 26;
const TEMPO: usize = 9;

/// A chunk's attempts in a sentence or two.
pub fn chunk_summary(chunk: &ChunkSummary) -> String {
    let (attempts, passed) = (chunk.attempts, chunk.passed);
    let (last, best) = (chunk.last.word(), chunk.best.word());
    let how = match passed {
        _ if attempts == 1 => format!("one attempt, {last}."),
        0 if last == best => format!("{attempts} attempts, none passed; the last {last}."),
        0 => format!("{attempts} attempts, none passed; the last {last}, the best {best}."),
        all if all == attempts => format!("{attempts} attempts, all passed."),
        some => format!("{attempts} attempts, {some} passed; the last {last}."),
    };
    let mut text = format!("{}: {how}", chunk.chunk);
    if let Some((what, count)) = chunk.commonest() {
        let what = spaced(what);
        text += &match attempts {
            1 => format!(" Found: {what}."),
            _ => format!(" Most often: {what} (in {count})."),
        };
    }
    match (chunk.last_tempo.map(whole), chunk.best_tempo.map(whole)) {
        (Some(last), Some(best)) if last == best => {
            text += &format!(" Last at {last} beats a minute, the fastest that passed.");
        }
        (Some(last), Some(best)) => {
            text += &format!(" Last at {last} beats a minute; passed at up to {best}.");
        }
        (Some(last), None) => text += &format!(" Last at {last} beats a minute."),
        (None, _) => {}
    }
    text
}

/// The same as a record of the event stream.
pub fn summary_record(chunk: &ChunkSummary) -> impl Serialize + use<'_> {
    #[derive(Serialize)]
    struct Record<'a> {
        kind: &'static str,
        chunk: &'a str,
        attempts: u32,
        passed: u32,
        last: &'static str,
        best: &'static str,
        commonest: Option<&'a str>,
        commonest_in: u32,
        last_hundredths: Option<u32>,
        best_hundredths: Option<u32>,
    }
    let commonest = chunk.commonest();
    Record {
        kind: "summary",
        chunk: &chunk.chunk,
        attempts: chunk.attempts,
        passed: chunk.passed,
        last: chunk.last.word(),
        best: chunk.best.word(),
        commonest: commonest.map(|(what, _)| what),
        commonest_in: commonest.map_or(0, |(_, count)| count),
        last_hundredths: chunk.last_tempo,
        best_hundredths: chunk.best_tempo,
    }
}

/// The head of a sitting in a list: when, by whom, and what.
pub fn sitting_head(sitting: &StoredSitting, zone: &TimeZone) -> Vec<StyledLine> {
    let at = |time: Timestamp, form: &str| {
        time.to_zoned_datetime(zone.clone()).strftime(form).to_string()
    };
    let day = "%-d %B %Y";
    let (began, ended) = (at(sitting.began, day), at(sitting.ended, day));
    let ended = if began == ended { String::new() } else { format!("{ended}, ") };
    let who = sitting.who.as_ref().map(|who| format!(", for {who}")).unwrap_or_default();
    let head = format!(
        "Sitting {}, {began}, {} to {ended}{}{who}: {}",
        sitting.id,
        at(sitting.began, "%H:%M"),
        at(sitting.ended, "%H:%M"),
        sitting.study
    );
    wrapped(&head, "", "  ").into_iter().map(StyledLine::strong).collect()
}

/// An attempt in one line of a list.
pub fn attempt_line(attempt: &Attempt, zone: &TimeZone) -> String {
    let found = attempt.found();
    let first = found.iter().find(|finding| finding.counts());
    let first = first.map(|finding| spaced(&finding.what)).unwrap_or_default();
    let line = format!(
        "  {}  {:NAME$}  {:TEMPO$}  {:10}  {first}",
        attempt.began.to_zoned_datetime(zone.clone()).strftime("%H:%M"),
        cut(&attempt.chunk, NAME),
        tempo(attempt),
        attempt.verdict.word(),
    );
    cut(line.trim_end(), WIDTH)
}

/// An attempt with all that was found.
pub fn attempt_in_full(attempt: &Attempt, zone: &TimeZone) -> Vec<StyledLine> {
    let mut head = format!(
        "{}  {}, attempt {}",
        attempt.began.to_zoned_datetime(zone.clone()).strftime("%H:%M:%S"),
        attempt.chunk,
        attempt.number
    );
    if let Some(heard) = attempt.heard {
        head += &format!(", {} beats a minute (goal {})", whole(heard), whole(attempt.practised));
    }
    head += &format!(", level {}: ", attempt.level);
    head += attempt.verdict.word();
    if attempt.together > 1 {
        head += &format!(" ({} attempts together)", attempt.together);
    }
    let mut lines: Vec<StyledLine> =
        wrapped(&head, "", "  ").into_iter().map(StyledLine::strong).collect();
    for finding in attempt.found() {
        lines.extend(wrapped(&in_words(&finding), "  ", "    ").into_iter().map(StyledLine::from));
    }
    match attempt.false_starts {
        0 => {}
        1 => lines.push("  one false start before it".into()),
        more => lines.push(format!("  {more} false starts before it").into()),
    }
    lines
}

fn in_words(finding: &Finding) -> String {
    let Finding { bar, beat, count, size, limit, .. } = finding;
    let amount = |size: i64| amount(size, &finding.unit);
    let bearing = match finding.bearing.as_str() {
        "fails" => "",
        "unsettled" => " (unsettled)",
        _ => " (advice)",
    };
    let mut words = format!("{}{bearing}: {}", spaced(&finding.what), amount(*size));
    if *limit != 0 {
        words += &format!(", {} would pass", amount(*limit));
    }
    if let Some(bar) = bar {
        words += &format!("; bar {bar}");
    }
    if let Some(beat) = beat {
        words += &format!(", beat {beat}");
    }
    if *count > 1 {
        words += &format!("; {count} places");
    }
    words
}

/// A size with its unit, as the events stream names units.
fn amount(size: i64, unit: &str) -> String {
    let with_tenths = |tenths: i64, unit: &str| {
        let sign = if tenths < 0 { "-" } else { "" };
        match (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10) {
            (whole, 0) => format!("{sign}{whole} {unit}"),
            (whole, tenth) => format!("{sign}{whole}.{tenth} {unit}"),
        }
    };
    // To the nearest; half away from zero.
    let nearest = |size: i64, by: i64| (size + by / 2 * size.signum()) / by;
    match unit {
        "us" => format!("{} ms", nearest(size, 1_000)),
        "0.01 dB" => with_tenths(nearest(size, 10), "dB"),
        "per mille" => with_tenths(size, "%"),
        "notes" if size == 1 => "one note".to_owned(),
        unit => format!("{size} {unit}"),
    }
}

/// `66 of 72`, or the goal alone where no tempo was heard.
fn tempo(attempt: &Attempt) -> String {
    let goal = whole(attempt.practised);
    attempt
        .heard
        .map_or_else(|| format!("- of {goal}"), |heard| format!("{} of {goal}", whole(heard)))
}

const fn whole(hundredths: u32) -> u32 {
    (hundredths + 50) / 100
}

fn spaced(what: &str) -> String {
    what.replace('-', " ")
}

/// At most so many letters.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most - 1).chain(['…']).collect()
}
