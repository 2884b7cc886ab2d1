//! The lines that set one thing: title, tuning, capo, metre, tempo and level.

use super::cursor::Cursor;
use crate::study::guess::nearest;
use crate::study::lex::{Kind, lex};
use crate::study::model::{MetreText, TempoText};
use crate::study::name::{LONGEST, is_quotable, is_quote, tidy};
use crate::study::note_value::NoteValue;
use crate::study::pitch_name::PitchName;
use crate::study::print::level_name;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use evenhand_core::study::Metre;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::GuitarString;

/// The highest fret for a capo: an octave up, our default.
const HIGHEST_CAPO: u16 = 12;

/// The fewest strings of a guitar, our default: bass guitars have four.
const FEWEST_STRINGS: usize = 4;

/// A title, which needs no quotes: all that stands after `word` but a comment.
pub(super) fn title(line: &str, word: Span, report: &mut Report<'_>) -> Option<String> {
    let from = (word.column + word.width) as usize - 1;
    let start = line.char_indices().nth(from).map_or(line.len(), |(at, _)| at);
    let text = without_comment(&line[start..]);
    let blank = text.chars().take_while(|c| c.is_whitespace()).count();
    if text[start_of(text, blank)..].starts_with(is_quote) {
        let mut cursor = Cursor::new(lex(line, start, word.line), word);
        let name = name(&mut cursor, report);
        cursor.finish(report);
        return name.map(|n| n.value);
    }
    let title = tidy(text);
    // A text is at most a mebibyte long.
    let column = u32::try_from(from + blank + 1).unwrap_or(u32::MAX);
    let width = u32::try_from(text.trim().chars().count()).unwrap_or(u32::MAX).max(1);
    let span = Span { line: word.line, column, width };
    if title.is_empty() {
        report.add(Span { width: 1, ..span }, "the end of the line", "the title");
        return None;
    }
    if title.chars().count() > LONGEST || title.chars().any(char::is_control) {
        report.word(span, &title, format!("a title of at most {LONGEST} printable characters"));
        return None;
    }
    Some(title)
}

/// The byte at which the character `count` stands.
fn start_of(text: &str, count: usize) -> usize {
    text.char_indices().nth(count).map_or(text.len(), |(at, _)| at)
}

/// What stands before a `#` that follows a space.
fn without_comment(text: &str) -> &str {
    let mut after_space = true;
    for (at, c) in text.char_indices() {
        if c == '#' && after_space {
            return &text[..at];
        }
        after_space = c.is_whitespace();
    }
    text
}

/// A name between quotes.
pub(super) fn name(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<String>> {
    let Some(token) = cursor.peek() else {
        cursor.wrong(report, None, "a name in quotes, such as \"The climb\"");
        return None;
    };
    match token.kind {
        Kind::Quoted { closed } => {
            cursor.take();
            let name = tidy(token.text);
            if !closed {
                report.word(token.span, token.text, "a closing \" after the name");
            } else if name.is_empty() {
                report.add(token.span, "an empty name", "a name such as \"The climb\"");
            } else if !is_quotable(&name) {
                let right = format!("a name of at most {LONGEST} printable characters");
                report.word(token.span, &name, right);
            } else {
                return Some(Spanned::new(name, token.span));
            }
            None
        }
        _ => {
            report.word(token.span, token.text, "a name in quotes, such as \"The climb\"");
            None
        }
    }
}

/// The open strings, low to high.
pub(super) fn tuning(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<Spanned<Vec<PitchName>>> {
    let mut names = Vec::new();
    let mut span: Option<Span> = None;
    let mut good = true;
    while let Some(token) = cursor.take() {
        span = Some(span.map_or(token.span, |s| s.to(token.span)));
        match PitchName::read(token.text) {
            Some(name) => names.push(name),
            None => {
                good = false;
                report.word(token.span, token.text, "a pitch such as E2, F#3 or Bb3");
            }
        }
    }
    let most = usize::from(GuitarString::MOST);
    let right =
        format!("{FEWEST_STRINGS} to {most} pitches, low to high, such as E2 A2 D3 G3 B3 E4");
    let Some(span) = span else {
        cursor.wrong(report, None, &right);
        return None;
    };
    if !good {
        return None;
    }
    if !(FEWEST_STRINGS..=most).contains(&names.len()) {
        let s = if names.len() == 1 { "" } else { "s" };
        report.add(span, format!("{} string{s}", names.len()), right);
        return None;
    }
    Some(Spanned::new(names, span))
}

/// The fret of the capo.
pub(super) fn capo(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<u8>> {
    let right = format!("a fret from 0 (no capo) to {HIGHEST_CAPO}");
    let (fret, span) = cursor.number(report, 0..=HIGHEST_CAPO, &right)?;
    Some(Spanned::new(u8::try_from(fret).ok()?, span))
}

/// A metre such as 6/8.
pub(super) fn metre(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<Spanned<MetreText>> {
    let right = "a metre such as 4/4, 3/4 or 6/8";
    let word = cursor.word(report, right)?;
    let number = |s: &str| s.len() <= 2 && s.bytes().all(|b| b.is_ascii_digit());
    let parts = word.text.split_once('/').filter(|(u, l)| number(u) && number(l));
    let metre = parts.and_then(|(upper, lower)| {
        let metre = MetreText { upper: upper.parse().ok()?, lower: lower.parse().ok()? };
        Metre::new(metre.upper, metre.lower).map(|_| metre)
    });
    if metre.is_none() {
        report.word(word.span, word.text, right);
    }
    metre.map(|m| Spanned::new(m, word.span))
}

/// A tempo such as `72` or `72 of 1/8`.
pub(super) fn tempo(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<Spanned<TempoText>> {
    // The core's range, 10 to 1,500 quarters a minute, is checked when the beat is known.
    let right = "a number of beats a minute, such as 72";
    let (beats, span) = cursor.number(report, 1..=9_999, right)?;
    let of = if cursor.take_word("of").is_some() {
        let right = "a note value such as 1/4, 1/4. or 1/8";
        let word = cursor.word(report, right)?;
        let value = NoteValue::read(word.text);
        if value.is_none() {
            report.word(word.span, word.text, right);
        }
        Some(value?)
    } else {
        None
    };
    Some(Spanned::new(TempoText { beats, of }, span.to(cursor.last())))
}

/// The name of a level.
pub(super) fn level(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<Spanned<PracticeLevel>> {
    const LEVELS: [PracticeLevel; 3] =
        [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance];
    let right = "first, steady or performance";
    let word = cursor.word(report, right)?;
    let level = LEVELS.into_iter().find(|l| word.is_word(level_name(*l)));
    if level.is_none() {
        let guess = nearest(word.text, LEVELS.map(level_name));
        report.word(word.span, word.text, guess.map_or_else(|| right.into(), quote));
    }
    level.map(|l| Spanned::new(l, word.span))
}
