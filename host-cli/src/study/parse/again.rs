//! What stands after `as`: bars that come again.

use super::cursor::Cursor;
use super::place::bar;
use crate::study::lex::{Kind, Token};
use crate::study::model::Again;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

/// Reads `bar 5` or `bars 5 to 6` after `as`, and `, 3 frets higher` after that.
pub(super) fn again(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    word: Span,
) -> Option<Spanned<Again>> {
    let right = "“bar” and a number after “as”, or “bars 1 to 4”";
    let what = cursor.word(report, right)?;
    let (first, last) = if what.is_word("bar") {
        let one = bar(cursor, report)?;
        (one, one)
    } else if what.is_word("bars") {
        let first = bar(cursor, report)?;
        let to = cursor.word(report, "“to” and the last bar")?;
        if !to.is_word("to") {
            report.word(to.span, to.text, "“to” and the last bar");
            return None;
        }
        (first, bar(cursor, report)?)
    } else {
        report.word(what.span, what.text, right);
        return None;
    };
    if last < first {
        report.add(
            word.to(cursor.last()),
            format!("bars {first} to {last}"),
            "the earlier bar first",
        );
        return None;
    }
    let mut higher = 0;
    if let Some(comma) = cursor.take_sign(',') {
        higher = frets(comma, cursor, report)?;
    }
    Some(Spanned::new(Again { first, last, higher }, word.to(cursor.last())))
}

/// Reads `3 frets higher`.
fn frets(comma: Token<'_>, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<i8> {
    let right = "a number of frets and “higher” or “lower”, such as “3 frets higher”";
    if cursor.peek().is_none_or(|token| token.kind != Kind::Word) {
        report.word(comma.span, ",", right);
        return None;
    }
    let (number, _) = cursor.number(report, 1..=24, right)?;
    let word = cursor.word(report, right)?;
    let way = if word.is_word("fret") || word.is_word("frets") {
        cursor.word(report, right)?
    } else {
        word
    };
    let number = i8::try_from(number).ok()?;
    match way {
        way if way.is_word("higher") => Some(number),
        way if way.is_word("lower") => Some(-number),
        way => {
            report.word(way.span, way.text, quote("higher"));
            None
        }
    }
}
