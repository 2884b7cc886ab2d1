//! What has been kept, in words and as records.

use super::{StyledLine, WIDTH, wrapped};
use crate::log::{Attempt, ChunkSummary, Finding, StoredSitting};
use evenhand_core::units::{Level, Offset};
use evenhand_core::verdict::{Kind, Size};
use jiff::Timestamp;
use jiff::civil::Date;
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
        let what = phrase(what, false);
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

/// The head of a day in a list.
pub fn day_head(day: Date) -> StyledLine {
    StyledLine::strong(day.strftime("%A, %-d %B %Y").to_string())
}

/// The head of a sitting in a list, under the day on which it began: when, by whom, and what. One that
/// has gone on after midnight has another under the next day.
pub fn sitting_head(sitting: &StoredSitting, goes_on: bool, zone: &TimeZone) -> Vec<StyledLine> {
    let at = |time: Timestamp| time.to_zoned_datetime(zone.clone()).strftime("%H:%M").to_string();
    let who = sitting.who.as_ref().map(|who| format!(", for {who}")).unwrap_or_default();
    let when = match (at(sitting.began), at(sitting.ended)) {
        _ if goes_on => " goes on".to_owned(),
        (began, ended) if began == ended => format!(", {began}"),
        (began, ended) => format!(", {began} to {ended}"),
    };
    let head = format!("Sitting {}{when}{who}: {}", sitting.id, sitting.study);
    wrapped(&head, "", "  ").into_iter().map(StyledLine::from).collect()
}

/// An attempt in one line of a list.
pub fn attempt_line(attempt: &Attempt, zone: &TimeZone) -> String {
    let found = attempt.found();
    let first = found.iter().find(|finding| finding.counts());
    let first = first.map(said).unwrap_or_default();
    // It does not count, whatever was said of it.
    let verdict = if attempt.disputed { "disputed" } else { attempt.verdict.word() };
    let line = format!(
        "  {}  {:NAME$}  {:TEMPO$}  {:10}  {first}",
        attempt.began.to_zoned_datetime(zone.clone()).strftime("%H:%M"),
        cut(&attempt.chunk, NAME),
        tempo(attempt),
        verdict,
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
    if attempt.disputed {
        head += "; disputed, it does not count";
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
    let Finding { bar, beat, count, size, limit, unit, .. } = finding;
    let severity = match finding.severity.as_str() {
        "fails" => "",
        "unsettled" => " (unsettled)",
        _ => " (advice)",
    };
    let mut words = format!("{}{severity}: {}", said(finding), amount(*size, unit));
    if *limit != 0 {
        words += &format!(", {} would pass", amount(*limit, unit));
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

/// What a finding is about.
fn said(finding: &Finding) -> String {
    phrase(&finding.what, finding.size < 0)
}

/// What the core says of a kind; its name, where a later version found it.
pub(super) fn phrase(name: &str, less: bool) -> String {
    let kind = Kind::ALL.iter().find(|kind| kind.name() == name);
    kind.map_or_else(|| name.replace('-', " "), |kind| kind.phrase(less).to_owned())
}

/// A size without its sign, as the log names units; those of later versions are told as they are.
fn amount(size: i64, unit: &str) -> String {
    let as_i16 = i16::try_from(size);
    match (unit, as_i16) {
        ("us", _) => i32::try_from(size).map(|us| Size::Time(Offset::from_micros(us))).ok(),
        ("0.01 dB", Ok(level)) => Some(Size::Loudness(Level::from_hundredths(level))),
        ("per mille", Ok(share)) => Some(Size::PerMille(share)),
        ("notes", Ok(notes)) => Some(Size::Notes(notes.unsigned_abs())),
        _ => None,
    }
    .map_or_else(|| format!("{size} {unit}"), |size| size.to_string())
}

/// At most so many letters.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most - 1).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::{amount, phrase};
    use evenhand_core::verdict::Kind;

    #[test]
    fn kinds_have_the_names_of_the_event_stream() {
        for kind in Kind::ALL {
            assert_eq!(serde_json::to_value(kind).unwrap(), kind.name());
        }
    }

    #[test]
    fn what_a_later_version_found_is_told_as_it_is() {
        assert_eq!(phrase("hesitation-at-shift", false), "time lost at a shift");
        assert_eq!(phrase("of-another-day", false), "of another day");
        assert_eq!(amount(-61_500, "us"), "62 ms");
        assert_eq!(amount(3, "furlongs"), "3 furlongs");
        assert_eq!(amount(1 << 40, "us"), format!("{} us", 1_u64 << 40));
    }
}
