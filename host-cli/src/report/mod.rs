//! What a person reads after an attempt.

mod course;
mod days;
mod ink;
mod kept;
mod tablature;
mod words;

pub use course::standing;
pub use days::{MARKS, PictureHead, picture, piece_days, piece_table, piece_words};
pub use ink::{Ink, StyledLine};
pub use kept::{
    attempt_in_full, attempt_line, chunk_summary, day_head, sitting_head, summary_record,
};
pub use tablature::Picture;

use crate::listening::Finished;
use crate::study::Prepared;
use crate::wrap::wrap;
use evenhand_core::units::Tempo;
use evenhand_core::verdict::{Outcome, Severity};
use std::io::{self, Write};

/// Findings that are told in sentences. More than three at once nobody works on.
const TOLD: usize = 3;

/// Columns of a line. Every terminal and every printer has as many.
const WIDTH: usize = 80;

/// Writes an attempt: a verdict line, the findings that matter, and the chunk as tablature
/// with timing and loudness under each note.
pub fn attempt(out: &mut dyn Write, finished: &Finished<'_>, ink: Ink) -> io::Result<()> {
    let mut lines = vec![headline(finished)];
    for sentence in sentences(finished) {
        lines.extend(wrapped(&sentence, "  ", "    ").into_iter().map(StyledLine::from));
    }
    let tablature = tablature::lines(finished, WIDTH);
    if !tablature.is_empty() {
        lines.push(StyledLine::default());
    }
    lines.extend(tablature);
    lines.push(StyledLine::default());
    lines.iter().try_for_each(|line| line.write(out, ink))
}

/// What is said where nothing was an attempt, by the number of notes that came.
pub fn no_attempt(notes: u32) -> String {
    words::no_attempt(notes)
}

/// What the marks under the tablature mean.
pub fn legend() -> Vec<StyledLine> {
    tablature::LEGEND.iter().map(|line| StyledLine::faint(*line)).collect()
}

/// The heaviest reason of an attempt in few words, from the longest to the shortest way to say it; none
/// where nothing fails or is open.
pub fn brief(finished: &Finished<'_>) -> Vec<String> {
    let findings = finished.verdict.findings.iter();
    let Some(heaviest) = findings.into_iter().find(|found| found.severity != Severity::Advice)
    else {
        return Vec::new();
    };
    let what = heaviest.kind.phrase(heaviest.size.is_negative());
    let place = heaviest.note.and_then(|note| {
        let note = finished.chunk.notes.get(usize::from(note))?;
        let place = finished.chunk.chunk().place(note.onset);
        Some(format!("bar {}, beat {}: ", place.bar, place.beat))
    });
    let place = place.unwrap_or_default();
    vec![
        format!("{place}{heaviest}."),
        format!("{place}{what}, {}.", heaviest.size),
        format!("{what}, {}.", heaviest.size),
    ]
}

/// A chunk as plain tablature with all that the study says of it, its other fingerings after it.
pub fn chunk(chunk: &Prepared) -> Vec<StyledLine> {
    let beat = chunk.metre.beat();
    let tempo = (chunk.tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
    let mut lines = vec![StyledLine::strong(format!("{}, {tempo} beats a minute", chunk.name))];
    lines.extend(tablature::full(chunk, WIDTH));
    for (index, alternative) in chunk.alternatives.iter().enumerate() {
        let name = format!("{}, otherwise: {}", chunk.name, alternative.name);
        lines.extend([StyledLine::default(), StyledLine::strong(name)]);
        lines.extend(chunk.in_alternative(index).iter().flat_map(|c| tablature::full(c, WIDTH)));
    }
    lines
}

/// One line that can be read aloud: which chunk, at which tempo, the verdict and its heaviest
/// reason. `goal` is the tempo in whole beats a minute that practice leads to, where it is not the
/// attempt's.
pub fn one_line(finished: &Finished<'_>, goal: Option<u32>) -> String {
    let outcome = finished.verdict.outcome.word();
    let mut sentences = sentences(finished);
    sentences.truncate(1);
    let tempo = beats(finished).map(|(played, own)| tempo_and_goal(played, goal.unwrap_or(own)));
    let tempo = tempo.map(|tempo| format!(", {tempo}")).unwrap_or_default();
    format!("{}{tempo}, {outcome}: {}", finished.chunk.name, sentences.join(" "))
}

/// `66 beats a minute (goal 72)`.
fn tempo_and_goal(tempo: u32, goal: u32) -> String {
    format!("{tempo} beats a minute (goal {goal})")
}

fn headline(finished: &Finished<'_>) -> StyledLine {
    let word = finished.verdict.outcome.word().to_uppercase();
    let word = match finished.verdict.outcome {
        Outcome::Passed => StyledLine::cool(word),
        Outcome::NeedsWork => StyledLine::warm(word),
        Outcome::Unclear => StyledLine::strong(word),
    };
    let bars = bars(finished);
    let tempo = beats(finished).map(|(played, goal)| format!(", {}", tempo_and_goal(played, goal)));
    let tempo = tempo.unwrap_or_default();
    word.and(format!("  {}{bars}{tempo}", finished.chunk.name))
}

/// `, bar 5` or `, bars 5–6`; nothing for a part, whose name says so.
fn bars(finished: &Finished<'_>) -> String {
    if finished.part_of.is_some() {
        return String::new();
    }
    let chunk = finished.chunk.chunk();
    let (Some(first), Some(last)) = (finished.chunk.notes.first(), finished.chunk.notes.last())
    else {
        return String::new();
    };
    let first = chunk.place(first.onset).bar;
    let proper = finished
        .chunk
        .notes
        .iter()
        .rev()
        .find(|note| !note.marks.has(evenhand_core::study::Marks::LANDING));
    let last = chunk.place(proper.unwrap_or(last).onset).bar;
    if first == last { format!(", bar {first}") } else { format!(", bars {first}-{last}") }
}

/// The beats a minute that were played, and the goal's.
fn beats(finished: &Finished<'_>) -> Option<(u32, u32)> {
    let heard = finished.tempo_heard()?;
    let beat = finished.chunk.metre.beat();
    let whole = |tempo: Tempo| (tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
    Some((whole(heard), whole(finished.chunk.tempo)))
}

/// The sentences worth saying: of what fails or is unsettled at most three, and advice only
/// where there is room.
pub fn sentences(finished: &Finished<'_>) -> Vec<String> {
    let findings = &finished.verdict.findings;
    let mut told: Vec<String> = findings
        .iter()
        .filter(|finding| finding.severity != Severity::Advice)
        .take(TOLD)
        .map(|finding| words::sentence(finished, finding))
        .collect();
    if finished.verdict.outcome == Outcome::Passed {
        told.push(words::passed(finished));
    }
    let advice = findings.iter().filter(|finding| finding.severity == Severity::Advice);
    let room = TOLD.saturating_sub(told.len());
    told.extend(advice.take(room).map(|finding| words::sentence(finished, finding)));
    let counted = findings.iter().filter(|finding| finding.severity != Severity::Advice).count();
    if counted > TOLD {
        told.push(match counted - TOLD {
            1 => "One lighter finding can wait.".to_owned(),
            more => format!("{more} lighter findings can wait."),
        });
    }
    told.extend(words::fits_as_well(finished));
    told
}

/// So many of something: `one chunk`, `2 chunks`.
pub(crate) fn count(number: usize, what: &str) -> String {
    if number == 1 { format!("one {what}") } else { format!("{number} {what}s") }
}

/// A text for people in lines that fit, the first of them after `lead`, the others after `set_in`.
pub fn wrapped(text: &str, lead: &str, set_in: &str) -> Vec<String> {
    wrap(text, WIDTH, lead, set_in)
}
