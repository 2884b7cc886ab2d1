//! A study of a score: one part of it, in the order in which it is played, cut into chunks.
//!
//! ```text
//! Score --choose--> Part --places--> on strings --bars--> as it is played --lanes--> voices --lengths, pieces--> Study
//! ```
//!
//! What the study's format cannot carry, and whatever was decided here, is told with the bars that it is in.

mod bars;
mod choose;
mod lanes;
pub(crate) mod lengths;
mod mend;
mod pieces;
mod places;
mod problem;
mod sections;
mod tones;

pub use choose::Choice;
pub use problem::Problem;

use crate::score::{Part, Remarks, Score};
use crate::study::{Prepared, Study};
use std::collections::BTreeSet;

/// A study that came from a score.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The study.
    pub study: Study,
    /// Its chunks, ready to be played and judged.
    pub chunks: Vec<Prepared>,
    /// The part's name, or what the file calls it.
    pub part: String,
    /// What was decided: how many notes were put on a string, for instance.
    pub decided: Vec<String>,
    /// What was not taken, each with the printed numbers of its bars.
    pub left_out: Vec<String>,
}

/// Makes a study of a score. `name` is its title where the score has none.
///
/// # Errors
/// Why there is none.
pub fn study(score: &Score, choice: &Choice, name: &str) -> Result<Imported, Problem> {
    let chosen = choose::chosen(score, choice)?;
    let part = &chosen.part;
    let mut remarks = part.remarks.within(&chosen.bars);
    let mut decided = chosen.decided;
    let frets = places::instrument(&part.frets, &mut remarks);
    let mut notes = chosen.notes;
    let (many, placed) = match choice.whole {
        true => (0, BTreeSet::new()),
        false => places::on_strings(&mut notes, &frets),
    };
    let played = bars::played(part, &chosen.bars)?;
    let mut tones = tones::tones(&notes, part, &played, &mut remarks);
    tones::settle(&mut tones, &mut remarks);
    if tones.is_empty() {
        return Err(Problem::NoNotes);
    }
    let title = score.title.clone().unwrap_or_else(|| name.to_owned());
    let frame = sections::Frame { title, frets, played: &played, part, whole: choice.whole };
    let (study, chunks) = mend::right(&frame, &mut tones, &mut remarks)?;
    decided.extend(bars::in_words(part, &played));
    decided.extend(sections::tempo_in_words(&frame));
    if many > 0 {
        decided.push(format!(
            "strings and frets are a first guess for {many} of {} notes, in {}",
            notes.len(),
            in_bars(part, &placed),
        ));
    }
    let left_out =
        remarks.all().map(|(what, bars)| format!("{}: {what}", in_bars(part, bars))).collect();
    let name = if part.name.is_empty() { part.id.clone() } else { part.name.clone() };
    Ok(Imported { study, chunks, part: name, decided, left_out })
}

/// Bars by their printed numbers: `bar 3`, `bars 3, 5 to 8`.
fn in_bars<'b>(part: &Part, bars: impl IntoIterator<Item = &'b usize>) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for bar in bars {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *bar => *last = *bar,
            _ => runs.push((*bar, *bar)),
        }
    }
    let label = |bar: usize| part.bars.get(bar).map_or("", |bar| bar.label.as_str());
    let names: Vec<String> = runs
        .iter()
        .map(|(first, last)| match last - first {
            0 => label(*first).to_owned(),
            1 => format!("{}, {}", label(*first), label(*last)),
            _ => format!("{} to {}", label(*first), label(*last)),
        })
        .collect();
    let many = runs.len() > 1 || runs.iter().any(|(first, last)| first < last);
    format!("{} {}", if many { "bars" } else { "bar" }, names.join(", "))
}

/// Adds a remark to what is told.
fn tell(remarks: &mut Remarks, what: &str, bar: usize) {
    remarks.add(what, bar);
}
