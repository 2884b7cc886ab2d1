//! A chunk as plain tablature, with timing and loudness under each note.

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
    under: Vec<String>,
    /// The trills that begin here, one a line.
    trills: Vec<String>,
    bar: u16,
    landing: bool,
    width: usize,
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
    /// The fingers of the left hand.
    LeftHand,
    /// Everything that the study says: lengths, both hands, shifts and barres.
    All,
}

impl Under {
    /// What the lines are called.
    fn labels(&self, chunk: &Prepared) -> Vec<String> {
        let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        match self {
            Self::Played(_) => named(&["time", "level"]),
            Self::LeftHand => named(&["left"]),
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

    /// What stands there under an event.
    fn cells(&self, chunk: &Prepared, event: &Range<usize>) -> Vec<String> {
        match self {
            Self::Played(Played { marks, .. }) => {
                let marked = || event.clone().map(|note| &marks[note]);
                vec![time_text(marked()), level_text(marked())]
            }
            Self::LeftHand => vec![hand(chunk, event, |hand| Some(hand.left?.to_string()))],
            Self::All => {
                let lengths = (0..chunk.voices.len().max(1)).map(|v| length(chunk, event, v));
                lengths
                    .chain([
                        hand(chunk, event, |hand| Some(hand.left?.to_string())),
                        hand(chunk, event, |hand| Some(hand.right?.to_string())),
                        once(chunk, event, |hand| {
                            // One that names no position goes where the fret says.
                            Some(hand.shift?.to.map_or(">".to_owned(), |to| to.to_string()))
                        }),
                        once(chunk, event, |hand| Some(hand.barre?.to_string())),
                    ])
                    .collect()
            }
        }
    }
}

impl Column {
    fn own_width(&self) -> usize {
        let cells = self.rows.iter().chain([&self.beat]).chain(&self.under);
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0) + 1
    }
}

/// The lines of an attempt.
pub(super) fn lines(finished: &Finished<'_>, width: usize) -> Vec<StyledLine> {
    let played = Played { marks: marks(finished), trills: played_trills(finished) };
    systems(&finished.chunk, &Under::Played(played), width)
}

/// What the marks mean.
pub(super) const LEGEND: [&str; 4] = [
    "  time   ms early (-) or late (+) by your own tempo; . too little to notice",
    "  level  dB by the plucked notes of the voice; . too little to hear",
    "  ! over the limit   ^ slurred   x another note was played   (2) did not come",
    "  ~ out of order   tr trill",
];

/// The lines of a chunk that nobody has played.
pub(super) fn bare(chunk: &Prepared, width: usize) -> Vec<StyledLine> {
    systems(chunk, &Under::LeftHand, width)
}

/// The same with all that the study says of its notes.
pub(super) fn full(chunk: &Prepared, width: usize) -> Vec<StyledLine> {
    systems(chunk, &Under::All, width)
}

fn systems(chunk: &Prepared, under: &Under, width: usize) -> Vec<StyledLine> {
    let labels = (labels(chunk), under.labels(chunk));
    let mut columns = columns(chunk, under, labels.0.len());
    spread_out(&mut columns, width - LABEL - 2);
    let mut lines = Vec::new();
    let mut rest = columns.as_slice();
    while !rest.is_empty() {
        let mut taken = 0;
        let mut used = LABEL + 2;
        for (index, column) in rest.iter().enumerate() {
            let barline = if index > 0 && starts_bar(&rest[index - 1], column) { 2 } else { 0 };
            if used + column.width + barline > width && index > 0 {
                break;
            }
            used += column.width + barline;
            taken = index + 1;
        }
        let (system, after) = rest.split_at(taken);
        lines.extend(draw(system, &labels, after.is_empty()));
        if !after.is_empty() {
            lines.push(StyledLine::default());
        }
        rest = after;
    }
    lines
}

/// Makes all columns equally wide, if the chunk fits one line that way: a page is read more
/// easily when time goes on evenly. Otherwise each is as wide as it must be.
fn spread_out(columns: &mut [Column], room: usize) {
    for column in columns.iter_mut() {
        column.width = column.own_width();
    }
    let barlines = columns.windows(2).filter(|pair| starts_bar(&pair[0], &pair[1])).count();
    let widest = columns.iter().map(|column| column.width).max().unwrap_or(0);
    for even in (2..=widest.max(4)).rev() {
        let all: usize = columns.iter().map(|column| column.width.max(even)).sum();
        if all + barlines * 2 < room {
            for column in columns.iter_mut() {
                column.width = column.width.max(even);
            }
            return;
        }
    }
}

/// What stands in a column of some row.
type Cell<'a> = &'a dyn Fn(&Column) -> String;

fn starts_bar(before: &Column, column: &Column) -> bool {
    before.bar != column.bar || (column.landing && !before.landing)
}

fn draw(
    system: &[Column],
    (strings, under): &(Vec<String>, Vec<String>),
    is_last: bool,
) -> Vec<StyledLine> {
    let row = |label: &str, fill: char, cell: Cell<'_>, bars: bool| {
        let mut line = format!("{label:>LABEL$} ");
        line.push(if bars { '|' } else { ' ' });
        for (index, column) in system.iter().enumerate() {
            if index > 0 && starts_bar(&system[index - 1], column) {
                line.push(if bars { '|' } else { ' ' });
                line.push(fill);
            }
            let text = cell(column);
            let pad = column.width.saturating_sub(text.chars().count());
            line.push_str(&text);
            line.extend(std::iter::repeat_n(fill, pad));
        }
        if bars && is_last {
            line.push('|');
        }
        line.trim_end().to_owned()
    };
    let mut lines = vec![StyledLine::faint(row("beat", ' ', &|c| c.beat.clone(), false))];
    for (index, label) in strings.iter().enumerate() {
        lines.push(row(label, '-', &|c| c.rows[index].clone(), true).into());
    }
    let warn = |line: String| {
        line.split_inclusive(' ').fold(StyledLine::default(), |line, word| {
            line.and(if word.contains('!') { StyledLine::warm(word) } else { word.into() })
        })
    };
    for (index, label) in under.iter().enumerate() {
        if system.iter().any(|column| !column.under[index].is_empty()) {
            lines.push(warn(row(label, ' ', &|c| c.under[index].clone(), false)));
        }
    }
    for trill in system.iter().flat_map(|column| &column.trills) {
        lines.push(format!("{:>LABEL$}  {trill}", "trill").into());
    }
    lines
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
    let played = match under {
        Under::Played(played) => Some(played),
        _ => None,
    };
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
                width: 0,
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
fn time_text<'a>(marks: impl Iterator<Item = &'a NoteMark>) -> String {
    let late = marks
        .filter_map(|mark| match mark {
            NoteMark::Right { late, over, .. } => Some(((*late)?, over.time)),
            _ => None,
        })
        .max_by_key(|(late, _)| late.size());
    let Some((late, over)) = late else {
        return String::new();
    };
    if late.size() <= Offset::from_micros(NOT_NOTICED) && !over {
        return ".".to_owned();
    }
    format!("{:+}{}", late.as_millis_rounded(), if over { "!" } else { "" })
}

/// The level of the note of an event that is furthest from what it is compared with.
fn level_text<'a>(marks: impl Iterator<Item = &'a NoteMark>) -> String {
    let level = marks
        .filter_map(|mark| match mark {
            NoteMark::Right { level: Some(level), over, .. } => Some((*level, over.level)),
            _ => None,
        })
        .max_by_key(|(level, over)| (*over, level.hundredths().unsigned_abs()));
    let Some((level, over)) = level else {
        return String::new();
    };
    if level.hundredths().abs() < NOT_HEARD && !over {
        return ".".to_owned();
    }
    let whole = level.hundredths();
    let rounded = (i32::from(whole) + 50 * i32::from(whole.signum())) / 100;
    format!("{rounded:+}{}", if over { "!" } else { "" })
}
