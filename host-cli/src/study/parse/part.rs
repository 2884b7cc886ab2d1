//! Which part of the music a chunk is: `bar 4`, `bars 3 to 4`, `bar 4 beat 3 until bar 5`, and which voices.

use super::cursor::Cursor;
use super::place::{bar, place, within};
use crate::study::model::{Part, PartEnd, Start};
use crate::study::name::LONGEST;
use crate::study::report::Report;
use crate::study::span::Spanned;

const END: &str = "“until” and a place such as “bar 5” or “beat 3”";

/// Reads a part of the music, if one stands there.
pub(super) fn part(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<Part>> {
    let first = cursor.peek()?;
    let (from, to) = if first.is_word("bars") {
        cursor.take();
        let from = Start { bar: bar(cursor, report)?, beat: None, plus: None };
        let right = "“to” and the last bar";
        let word = cursor.word(report, right)?;
        if !word.is_word("to") {
            report.word(word.span, word.text, right);
            return None;
        }
        (from, PartEnd::Bar(bar(cursor, report)?))
    } else if first.is_word("bar") {
        cursor.take();
        let from = place(cursor, report)?;
        let to = if cursor.take_word("until").is_some() {
            PartEnd::Until(until(from.bar, cursor, report)?)
        } else {
            PartEnd::Bar(from.bar)
        };
        (from, to)
    } else {
        return None;
    };
    let mut voices = Vec::new();
    while cursor.take_word("voice").is_some() {
        let word = cursor.word(report, "the name of a voice after “voice”")?;
        // A name that no voice can have is none of the music's, which is told later.
        voices.push(word.text.chars().take(LONGEST).collect());
    }
    Some(Spanned::new(Part { from, to, voices }, first.span.to(cursor.last())))
}

/// Reads `bar 5 beat 1`, or `beat 3` of the bar in which the part begins.
fn until(of: u16, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Start> {
    if cursor.take_word("bar").is_some() {
        return place(cursor, report);
    }
    let mut start = Start { bar: of, beat: None, plus: None };
    within(&mut start, cursor, report)?;
    if start.beat.is_none() {
        cursor.wrong(report, cursor.peek(), END);
        return None;
    }
    Some(start)
}
