//! Which part of a score, which of its bars, and which of its voices.

use super::problem::Problem;
use crate::score::{Bar, Note, Part, Score, merged};
use std::ops::Range;

/// What is wanted of a score.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// A part by its name, a piece of it, or its number from 1.
    pub part: Option<String>,
    /// Bars by their printed numbers.
    pub bars: Option<(u16, u16)>,
    /// Voices as the file calls them; all of them if it is empty.
    pub voices: Vec<String>,
    /// For judging at once: one chunk if the judge takes it so, and no string that the score does not name.
    pub whole: bool,
}

/// What was chosen.
pub(super) struct Chosen {
    pub(super) part: Part,
    pub(super) bars: Range<usize>,
    pub(super) notes: Vec<Note>,
    pub(super) decided: Vec<String>,
}

/// Finds what is wanted.
pub(super) fn chosen(score: &Score, choice: &Choice) -> Result<Chosen, Problem> {
    let mut decided = Vec::new();
    let part = part(score, choice.part.as_deref(), &mut decided)?;
    let bars = match choice.bars {
        None => 0..part.bars.len(),
        Some((first, last)) => bars(&part.bars, first, last)?,
    };
    let mut notes: Vec<Note> =
        part.notes.iter().filter(|note| bars.contains(&note.bar)).cloned().collect();
    let mut voices: Vec<&str> = notes.iter().map(|note| note.voice.as_str()).collect();
    voices.sort_unstable();
    voices.dedup();
    for wanted in &choice.voices {
        if !voices.contains(&wanted.as_str()) {
            let voices = list(voices.iter().map(|voice| (*voice).to_owned()));
            return Err(Problem::NoVoice { wanted: wanted.clone(), voices });
        }
    }
    notes.retain(|note| choice.voices.is_empty() || choice.voices.contains(&note.voice));
    if notes.is_empty() {
        return Err(Problem::NoNotes);
    }
    Ok(Chosen { part, bars, notes, decided })
}

/// The part, with its tablature joined to it.
fn part(score: &Score, wanted: Option<&str>, decided: &mut Vec<String>) -> Result<Part, Problem> {
    let sounding: Vec<usize> =
        (0..score.parts.len()).filter(|index| !score.parts[*index].notes.is_empty()).collect();
    let index = match (wanted, sounding.as_slice()) {
        (None, []) => return Err(Problem::NoNotes),
        (None, [one]) => *one,
        (None, [one, other]) => {
            // A staff and the same music in tablature are one.
            let (a, b) = (&score.parts[*one], &score.parts[*other]);
            if merged(a, Some(b)).is_some() {
                *one
            } else if merged(b, Some(a)).is_some() {
                *other
            } else {
                return Err(Problem::WhichPart(names(score)));
            }
        }
        (None, _) => return Err(Problem::WhichPart(names(score))),
        (Some(wanted), _) => find(score, wanted)
            .ok_or_else(|| Problem::NoPart { wanted: wanted.to_owned(), parts: names(score) })?,
    };
    let part = &score.parts[index];
    let alone = merged(part, None).unwrap_or_else(|| part.clone());
    if alone.notes.iter().any(|note| note.string.is_some()) {
        return Ok(alone);
    }
    for (number, other) in (1..).zip(&score.parts).filter(|(number, _)| *number != index + 1) {
        if let Some(both) = merged(&alone, Some(other)) {
            decided.push(format!("strings and frets come from part {number}, {}", name(other)));
            return Ok(both);
        }
    }
    Ok(alone)
}

/// A part by its name, its number, or a piece of its name that no other has.
fn find(score: &Score, wanted: &str) -> Option<usize> {
    let wanted = wanted.trim().to_lowercase();
    let all = || score.parts.iter().enumerate();
    let exact: Vec<usize> =
        all().filter(|(_, part)| part.name.to_lowercase() == wanted).map(|(at, _)| at).collect();
    if let [one] = exact.as_slice() {
        return Some(*one);
    }
    if let Some((at, _)) = all().find(|(_, part)| part.id.to_lowercase() == wanted) {
        return Some(at);
    }
    if let Ok(number) = wanted.parse::<usize>() {
        return number.checked_sub(1).filter(|at| *at < score.parts.len());
    }
    let with: Vec<usize> = all()
        .filter(|(_, part)| part.name.to_lowercase().contains(&wanted))
        .map(|(at, _)| at)
        .collect();
    if let [one] = with.as_slice() { Some(*one) } else { None }
}

fn name(part: &Part) -> String {
    if part.name.is_empty() { format!("“{}”", part.id) } else { format!("“{}”", part.name) }
}

/// The parts with their numbers, up to twenty of them.
fn names(score: &Score) -> String {
    let parts = (1..).zip(&score.parts);
    let mut all: Vec<String> =
        parts.take(20).map(|(number, part)| format!("{number} {}", name(part))).collect();
    if score.parts.len() > all.len() {
        all.push(format!("{} more", score.parts.len() - all.len()));
    }
    list(all.into_iter())
}

/// `a`, `a and b`, `a, b and c`.
fn list(all: impl Iterator<Item = String>) -> String {
    let mut all: Vec<String> = all.collect();
    let last = all.pop().unwrap_or_default();
    if all.is_empty() { last } else { format!("{} and {last}", all.join(", ")) }
}

/// Bars by their printed numbers.
fn bars(bars: &[Bar], first: u16, last: u16) -> Result<Range<usize>, Problem> {
    let at = |number: u16| bars.iter().position(|bar| bar.label == number.to_string());
    let end = bars.iter().rposition(|bar| bar.label == last.to_string());
    match (at(first), end) {
        (Some(from), Some(to)) if from <= to => Ok(from..to + 1),
        _ => {
            let label = |bar: Option<&Bar>| bar.map_or(String::new(), |bar| bar.label.clone());
            let bars = format!("bars {} to {}", label(bars.first()), label(bars.last()));
            Err(Problem::NoBars { first, last, bars })
        }
    }
}
