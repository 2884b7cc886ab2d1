//! A chunk as plain tablature, with timing and loudness under each note.

mod lines;

use super::ink::StyledLine;
use crate::listening::Finished;
use crate::marks::{NoteMark, marks, played_trills};
use crate::study::{Fingering, Prepared, as_fraction, pitch_name};
use evenhand_core::measure::trill::Trill;
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::units::Offset;
use std::ops::Range;

/// A displacement that is not noticed, in microseconds, and in per mille of the interval
/// where notes are over 240 ms apart (Friberg & Sundberg 1995). The smaller of the two
/// published floors is used everywhere: what is shown may be a little too much.
const NOT_NOTICED: i32 = 6_000;

/// A difference in loudness that is not noticed: 0.7 to 1.2 dB (Musicae Scientiae, 2022).
const NOT_HEARD: i16 = 100;

/// Columns of the labels before the lines.
const LABEL: usize = 6;

/// One event of the chunk, with all that stands in its column.
struct Column {
    /// For each row of the tablature, top row first, what stands there.
    rows: Vec<String>,
    beat: String,
    /// What stands under it, a line for each of [`Under::labels`].
    under: Vec<Cell>,
    /// The trills that begin here, one a line.
    trills: Vec<String>,
    bar: u16,
    landing: bool,
    /// How long it is until the next one, in ticks.
    lasts: u32,
}

/// What stands under an event.
#[derive(Default)]
struct Cell {
    text: String,
    /// The same in one sign, with an exclamation mark where it is over the limit.
    sign: String,
}

impl Cell {
    fn plain(text: String) -> Self {
        Self { sign: text.clone(), text }
    }
}

/// What was played, as far as the picture shows it.
struct Played {
    /// Parallel to the chunk's notes.
    marks: Vec<NoteMark>,
    trills: Vec<Trill>,
}

/// What stands under the strings.
enum Under {
    /// Time and loudness as they were played.
    Played(Played),
    /// Both hands, and time and loudness as far as it was played; with lengths where the rhythm is
    /// another than the written one.
    Page { played: Option<Played>, is_bent: bool },
    /// Everything that the study says: lengths, both hands, shifts and barres.
    All,
}

impl Under {
    /// What the lines are called.
    fn labels(&self, chunk: &Prepared) -> Vec<String> {
        let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        match self {
            Self::Played(_) => named(&["time", "level"]),
            Self::Page { played, is_bent } => {
                let lengths: &[&str] = if *is_bent { &["length"] } else { &[] };
                let marks: &[&str] = if played.is_some() { &["time", "level"] } else { &[] };
                named(&[lengths, &["left", "right"], marks].concat())
            }
            Self::All => {
                let mut labels: Vec<String> = match chunk.voices.as_slice() {
                    [] | [_] => vec!["length".to_owned()],
                    voices => voices.iter().map(|v| v.chars().take(LABEL).collect()).collect(),
                };
                labels.extend(named(&["left", "right", "shift", "barre"]));
                labels
            }
        }
    }

    /// What was played, if anything was.
    const fn played(&self) -> Option<&Played> {
        match self {
            Self::Played(played) | Self::Page { played: Some(played), .. } => Some(played),
            _ => None,
        }
    }

    /// What stands there under an event.
    fn cells(&self, chunk: &Prepared, event: &Range<usize>) -> Vec<Cell> {
        let left = || hand(chunk, event, |hand| Some(hand.left?.to_string()));
        let right = || hand(chunk, event, |hand| Some(hand.right?.to_string()));
        let mut cells: Vec<String> = Vec::new();
        match self {
            Self::Played(_) => {}
            Self::Page { is_bent, .. } => {
                cells.extend(is_bent.then(|| length(chunk, event, 0)));
                cells.extend([left(), right()]);
            }
            Self::All => {
                cells.extend((0..chunk.voices.len().max(1)).map(|v| length(chunk, event, v)));
                // A shift that names no position goes where the fret says.
                let shift = |hand: &Fingering| {
                    Some(hand.shift?.to.map_or(">".to_owned(), |to| to.to_string()))
                };
                let barre = |hand: &Fingering| Some(hand.barre?.to_string());
                let (shift, barre) = (once(chunk, event, shift), once(chunk, event, barre));
                cells.extend([left(), right(), shift, barre]);
            }
        }
        let mut cells: Vec<Cell> = cells.into_iter().map(Cell::plain).collect();
        if let Some(Played { marks, .. }) = self.played() {
            let marked = || event.clone().map(|note| &marks[note]);
            cells.extend([time_cell(marked()), level_cell(marked())]);
        }
        cells
    }
}

/// A chunk with all that may be drawn of it, to be drawn at any width.
pub struct Picture {
    strings: Vec<String>,
    /// What the lines under the strings are called.
    labels: Vec<String>,
    columns: Vec<Column>,
    /// Notes of unequal lengths in turn: time is drawn as wide as it lasts.
    is_bent: bool,
}

/// What is drawn of a picture.
#[derive(Clone, Copy, Debug)]
struct Extent {
    /// Marks with their numbers, and lengths; else one sign for each mark.
    numbers: bool,
    /// What the hands do.
    hands: bool,
    /// All strings; else those between the highest and the lowest in use.
    all_strings: bool,
}

/// What a page may show, from what says most to what needs least room.
const EXTENTS: [Extent; 4] = [
    Extent { numbers: true, hands: true, all_strings: true },
    Extent { numbers: false, hands: true, all_strings: true },
    Extent { numbers: false, hands: true, all_strings: false },
    Extent { numbers: false, hands: false, all_strings: false },
];

impl Picture {
    /// An attempt. With `is_bent` it was played in another rhythm than the written one.
    pub fn of_attempt(finished: &Finished<'_>, is_bent: bool) -> Self {
        let played = Played { marks: marks(finished), trills: played_trills(finished) };
        Self::of(&finished.chunk, &Under::Page { played: Some(played), is_bent }, is_bent)
    }

    /// A chunk that nobody has played.
    pub fn of_chunk(chunk: &Prepared, is_bent: bool) -> Self {
        Self::of(chunk, &Under::Page { played: None, is_bent }, is_bent)
    }

    fn of(chunk: &Prepared, under: &Under, is_bent: bool) -> Self {
        let strings = labels(chunk);
        let columns = columns(chunk, under, strings.len());
        Self { strings, labels: under.labels(chunk), columns, is_bent }
    }

    /// All ways to draw it in lines of this width, from the one that says most to the one that needs
    /// least room.
    pub fn ways(&self, width: usize) -> Vec<Vec<String>> {
        let text = |lines: Vec<StyledLine>| lines.iter().map(StyledLine::text).collect();
        EXTENTS.iter().map(|extent| text(lines::systems(self, *extent, width))).collect()
    }
}

/// The lines of an attempt.
pub(super) fn lines(finished: &Finished<'_>, width: usize) -> Vec<StyledLine> {
    let played = Played { marks: marks(finished), trills: played_trills(finished) };
    whole(&finished.chunk, &Under::Played(played), width)
}

/// What the marks mean.
pub(super) const LEGEND: [&str; 4] = [
    "  time   ms early (-) or late (+) by your own tempo; . too little to notice",
    "  level  dB by the plucked notes of the voice; . too little to hear",
    "  ! over the limit   ^ slurred   x another note was played   (2) did not come",
    "  ~ out of order   tr trill",
];

/// A chunk with all that the study says of its notes.
pub(super) fn full(chunk: &Prepared, width: usize) -> Vec<StyledLine> {
    whole(chunk, &Under::All, width)
}

fn whole(chunk: &Prepared, under: &Under, width: usize) -> Vec<StyledLine> {
    lines::systems(&Picture::of(chunk, under, false), EXTENTS[0], width)
}

/// How many notes a trill had and how fast they came; with its place where there are several.
fn trill_text(trill: &Trill, bar: u16, place: Option<&String>) -> String {
    let notes = if trill.notes == 1 { "note" } else { "notes" };
    let mut text = match place {
        Some(beat) if !beat.is_empty() => format!("bar {bar}, beat {beat}: "),
        Some(_) => format!("bar {bar}: "),
        None => String::new(),
    };
    text += &format!("{} {notes}", trill.notes);
    if trill.rate > 0 {
        let tenths = (trill.rate + 5) / 10;
        text += &format!(", {}.{} a second", tenths / 10, tenths % 10);
    }
    text
}

/// Row labels: strings by number and name where the study knows them, else as many rows as
/// the fullest chord has notes.
fn labels(chunk: &Prepared) -> Vec<String> {
    if chunk.notes.iter().any(|note| note.string.is_some()) {
        let strings = chunk.notes.iter().filter_map(|note| note.string);
        let most = strings.map(|string| string.number()).max().unwrap_or(6).max(6);
        return (1..=most).map(|string| string.to_string()).collect();
    }
    let fullest = events(chunk).map(|event| event.len()).max().unwrap_or(1);
    vec![String::new(); fullest]
}

/// Ranges of notes that begin together.
fn events(chunk: &Prepared) -> impl Iterator<Item = Range<usize>> + '_ {
    let mut next = 0;
    std::iter::from_fn(move || {
        let first = next;
        let onset = chunk.notes.get(first)?.onset;
        while chunk.notes.get(next).is_some_and(|note| note.onset == onset) {
            next += 1;
        }
        Some(first..next)
    })
}

fn columns(chunk: &Prepared, under: &Under, rows: usize) -> Vec<Column> {
    let played = under.played();
    // The bar and beat that were written last.
    let mut written = (0, 0);
    events(chunk)
        .map(|event| {
            let mut column = Column {
                rows: vec![String::new(); rows],
                beat: String::new(),
                under: under.cells(chunk, &event),
                trills: Vec::new(),
                bar: 0,
                landing: false,
                lasts: 0,
            };
            let place = chunk.chunk().place(chunk.notes[event.start].onset);
            column.bar = place.bar;
            column.beat = match (place.into_beat.get(), chunk.metre.beat().get()) {
                (0, _) => place.beat.to_string(),
                (into, beat) if into * 2 != beat => String::new(),
                // An “and” belongs to the beat that stands before it, or says to which.
                _ if written == (place.bar, place.beat) => "&".to_owned(),
                _ => format!("{}&", place.beat),
            };
            if !column.beat.is_empty() {
                written = (place.bar, place.beat);
            }
            column.landing = chunk.notes[event.start].marks.has(Marks::LANDING);
            let (own, next) = (&chunk.notes[event.start], chunk.notes.get(event.end));
            column.lasts = next.map_or(own.duration, |next| next.onset.since(own.onset)).get();
            let mut free = event.len();
            for note in event.clone() {
                free -= 1;
                let row = match chunk.notes[note].string {
                    Some(string) => usize::from(string.number()) - 1,
                    // Low notes come first in a chunk and stand lowest in the picture.
                    None => free,
                };
                if let Some(cell) = column.rows.get_mut(row) {
                    *cell = cell_text(chunk, note, played.map(|played| &played.marks[note]));
                }
            }
            if let Some(Played { trills, .. }) = played {
                let here = trills.iter().filter(|trill| event.contains(&trill.note));
                let place = (trills.len() > 1).then_some(&column.beat);
                column.trills = here.map(|trill| trill_text(trill, column.bar, place)).collect();
            }
            column
        })
        .collect()
}

fn cell_text(chunk: &Prepared, note: usize, mark: Option<&NoteMark>) -> String {
    let wanted = &chunk.notes[note];
    let fret = match chunk.hand.get(note).and_then(|hand| hand.fret) {
        Some(fret) => fret.to_string(),
        None => pitch_name(wanted.pitch),
    };
    let slur = if wanted.attack == Attack::Slurred { "^" } else { "" };
    let trill = if wanted.trill.is_some() { "tr" } else { "" };
    match mark {
        Some(NoteMark::Right { swapped: true, .. }) => format!("{slur}{fret}{trill}~"),
        Some(NoteMark::Wrong { .. }) => format!("{slur}{fret}x"),
        Some(NoteMark::Missing) => format!("({slur}{fret})"),
        _ => format!("{slur}{fret}{trill}"),
    }
}

/// What the study says of the hand for each note of an event, the lowest note's first.
fn hand(
    chunk: &Prepared,
    event: &Range<usize>,
    what: impl Fn(&Fingering) -> Option<String>,
) -> String {
    event.clone().filter_map(|note| what(chunk.hand.get(note)?)).collect()
}

/// The same where it is said of all notes of an event together.
fn once(
    chunk: &Prepared,
    event: &Range<usize>,
    what: impl Fn(&Fingering) -> Option<String>,
) -> String {
    event.clone().find_map(|note| what(chunk.hand.get(note)?)).unwrap_or_default()
}

/// How long the notes of a voice last that begin here, as a fraction of a whole note; nothing
/// where it is as long as the one before, as in the text of a study.
fn length(chunk: &Prepared, event: &Range<usize>, voice: usize) -> String {
    let own =
        |note: &&ExpectedNote| usize::from(note.voice) == voice && !note.marks.has(Marks::LANDING);
    let here = |notes: &[ExpectedNote]| notes.iter().rev().find(own).map(|note| note.duration);
    let Some(lasts) = chunk.notes.get(event.clone()).and_then(here) else {
        return String::new();
    };
    let before = chunk.notes.get(..event.start).and_then(here);
    if before == Some(lasts) { String::new() } else { as_fraction(lasts) }
}

/// The time of the note of an event that is furthest off.
fn time_cell<'a>(marks: impl Iterator<Item = &'a NoteMark>) -> Cell {
    let late = marks
        .filter_map(|mark| match mark {
            NoteMark::Right { late, over, .. } => Some(((*late)?, over.time)),
            _ => None,
        })
        .max_by_key(|(late, _)| late.size());
    let Some((late, over)) = late else { return Cell::default() };
    if late.size() <= Offset::from_micros(NOT_NOTICED) && !over {
        return Cell::plain(".".to_owned());
    }
    let (limit, way) = (if over { "!" } else { "" }, if late.as_micros() < 0 { '<' } else { '>' });
    Cell { text: format!("{:+}{limit}", late.as_millis_rounded()), sign: format!("{way}{limit}") }
}

/// The level of the note of an event that is furthest from what it is compared with.
fn level_cell<'a>(marks: impl Iterator<Item = &'a NoteMark>) -> Cell {
    let level = marks
        .filter_map(|mark| match mark {
            NoteMark::Right { level: Some(level), over, .. } => Some((*level, over.level)),
            _ => None,
        })
        .max_by_key(|(level, over)| (*over, level.hundredths().unsigned_abs()));
    let Some((level, over)) = level else { return Cell::default() };
    if level.hundredths().abs() < NOT_HEARD && !over {
        return Cell::plain(".".to_owned());
    }
    let whole = level.hundredths();
    let rounded = (i32::from(whole) + 50 * i32::from(whole.signum())) / 100;
    let (limit, way) = (if over { "!" } else { "" }, if whole < 0 { '-' } else { '+' });
    Cell { text: format!("{rounded:+}{limit}"), sign: format!("{way}{limit}") }
}

#[cfg(test)]
mod tests;
