//! Places in the music as they are written: a bar, a beat, a note value after it.

use super::cursor::Cursor;
use crate::study::model::Start;
use crate::study::note_value::NoteValue;
use crate::study::report::Report;
use crate::study::span::Spanned;

/// The highest number of a bar (our default: longer than any study).
const HIGHEST_BAR: u16 = 9_999;

/// The most beats a bar can have: the core's metres go up to 32.
const MOST_BEATS: u16 = 32;

/// Reads `at bar 5`, `at bar 5 beat 3` or `at bar 0 beat 4 plus 1/8`, if it is there.
pub(super) fn start(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<Start>> {
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
    let start = place(cursor, report)?;
    Some(Spanned::new(start, first.span.to(cursor.last())))
}

/// Reads `5`, `5 beat 3` or `0 beat 4 plus 1/8`, after “bar”.
pub(super) fn place(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Start> {
    let mut start = Start { bar: bar(cursor, report)?, beat: None, plus: None };
    within(&mut start, cursor, report)?;
    Some(start)
}

/// Reads the number of a bar.
pub(super) fn bar(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<u16> {
    let right = format!("the number of a bar from 1 to {HIGHEST_BAR}, or 0 for a pickup bar");
    cursor.number(report, 0..=HIGHEST_BAR, &right).map(|(bar, _)| bar)
}

/// Reads `beat 3` and `plus 1/8`, where they stand.
pub(super) fn within(
    start: &mut Start,
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<()> {
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
    Some(())
}
