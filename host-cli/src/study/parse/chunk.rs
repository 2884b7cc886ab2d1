//! The lines that begin a chunk or an alternative, and the line of the landing.

use super::cursor::Cursor;
use super::{setting, voice};
use crate::study::model::{AlternativeText, ChunkText, Landing, Settings, Start};
use crate::study::note_value::NoteValue;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

/// The highest number of a bar (our default: longer than any study).
const HIGHEST_BAR: u16 = 9_999;

/// The most beats a bar can have: the core's metres go up to 32.
const MOST_BEATS: u16 = 32;

/// Reads what stands after `chunk`: a name, and where it begins. A chunk whose name cannot
/// be read is begun all the same, so that its lines are checked.
pub(super) fn chunk(cursor: &mut Cursor<'_>, report: &mut Report<'_>, word: Span) -> ChunkText {
    let before = report.count();
    let name = setting::name(cursor, report);
    let at = if name.is_some() { start(cursor, report) } else { None };
    let good = report.count() == before;
    ChunkText {
        name: name.unwrap_or_else(|| Spanned::new(String::new(), word)),
        at: at.filter(|_| good),
        settings: Settings::default(),
        lines: Vec::new(),
        landing: None,
        alternatives: Vec::new(),
    }
}

/// Reads `at bar 5`, `at bar 5 beat 3` or `at bar 0 beat 4 plus 1/8`, if it is there.
fn start(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<Start>> {
    let first = cursor.peek()?;
    if !first.is_word("at") {
        cursor.wrong(report, Some(first), "“at bar” and a number, or nothing, after the name");
        return None;
    }
    cursor.take();
    let bar_word = "“bar” and a number after “at”";
    let word = cursor.word(report, bar_word)?;
    if !word.is_word("bar") {
        report.word(word.span, word.text, bar_word);
        return None;
    }
    let right = format!("the number of a bar from 1 to {HIGHEST_BAR}, or 0 for a pickup bar");
    let (bar, _) = cursor.number(report, 0..=HIGHEST_BAR, &right)?;
    let mut start = Start { bar, beat: None, plus: None };
    if cursor.take_word("beat").is_some() {
        let right = format!("the number of a beat from 1 to {MOST_BEATS}");
        let (beat, _) = cursor.number(report, 1..=MOST_BEATS, &right)?;
        start.beat = u8::try_from(beat).ok();
    }
    if cursor.take_word("plus").is_some() {
        let right = "a note value such as 1/8 after “plus”";
        let word = cursor.word(report, right)?;
        start.plus = NoteValue::read(word.text);
        if start.plus.is_none() {
            report.word(word.span, word.text, right);
            return None;
        }
    }
    Some(Spanned::new(start, first.span.to(cursor.last())))
}

/// Reads what stands after `alternative`.
pub(super) fn alternative(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    word: Span,
) -> AlternativeText {
    let name = setting::name(cursor, report);
    AlternativeText {
        name: name.unwrap_or_else(|| Spanned::new(String::new(), word)),
        lines: Vec::new(),
    }
}

/// Reads what stands after `landing`.
pub(super) fn landing(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<Spanned<Landing>> {
    if let Some(next) = cursor.take_word("next") {
        return Some(Spanned::new(Landing::Next, next.span));
    }
    let at = cursor.peek().map_or(cursor.last(), |t| t.span);
    let sound = voice::landing(cursor, report)?;
    Some(Spanned::new(Landing::On(sound), at.to(cursor.last())))
}
