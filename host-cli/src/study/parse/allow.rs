//! The lines `allow …`.

use super::cursor::Cursor;
use crate::study::allow::{Allow, Kind, TimeAllowance};
use crate::study::guess::nearest;
use crate::study::lex;
use crate::study::problem::quote;
use crate::study::quantity::{Range, Unit};
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use evenhand_core::units::{Level, Offset};

/// Reads what stands after `allow`.
pub(super) fn allow(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<Allow>> {
    let (kind, span) = name(cursor, report)?;
    let value = match kind {
        Kind::Slips => slips(cursor, report).map(Allow::Slips),
        Kind::Unsteadiness => time(kind, cursor, report).map(Allow::Unsteadiness),
        Kind::NoteOffset => time(kind, cursor, report).map(Allow::NoteOffset),
        Kind::Hesitation => time(kind, cursor, report).map(Allow::Hesitation),
        Kind::Drift => one(kind, &Range::DRIFT, cursor, report).map(per_mille).map(Allow::Drift),
        Kind::ChordSpread => {
            one(kind, &Range::SPREAD, cursor, report).map(offset).map(Allow::ChordSpread)
        }
        Kind::Unevenness => loudness(kind, cursor, report).map(Allow::Unevenness),
        Kind::NoteLevel => loudness(kind, cursor, report).map(Allow::NoteLevel),
        Kind::SlurLevel => loudness(kind, cursor, report).map(Allow::SlurLevel),
        Kind::ClickOffset => click(cursor, report),
        Kind::TrillUnevenness => share(kind, cursor, report).map(Allow::TrillUnevenness),
        Kind::TrillLength => share(kind, cursor, report).map(Allow::TrillLength),
        Kind::HeldLength => share(kind, cursor, report).map(Allow::HeldLength),
        Kind::ShortLength => share(kind, cursor, report).map(Allow::ShortLength),
        Kind::Gaps => share(kind, cursor, report).map(Allow::Gaps),
        Kind::Accent if cursor.take_word("none").is_some() => Some(Allow::Accent(Level::ZERO)),
        Kind::Accent => loudness(kind, cursor, report).map(Allow::Accent),
        Kind::OtherStrings => share(kind, cursor, report).map(Allow::OtherStrings),
    };
    value.map(|v| Spanned::new(v, span))
}

/// The name of the tolerance: all words before the first number.
fn name(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<(Kind, Span)> {
    let mut words: Vec<String> = Vec::new();
    let mut span: Option<Span> = None;
    while let Some(token) = cursor.peek() {
        let number = token.text.starts_with(|c: char| c.is_ascii_digit() || "-−–+".contains(c));
        if token.kind != lex::Kind::Word || number || token.is_word("none") {
            break;
        }
        cursor.take();
        // Three words are enough to know that it is none of ours.
        if words.len() < 3 {
            words.push(token.text.to_lowercase());
        }
        span = Some(span.map_or(token.span, |s| s.to(token.span)));
    }
    let names = Kind::NAMES.map(|(_, name)| name);
    let right = || format!("one of {}", names.join(", "));
    let Some(span) = span else {
        cursor.wrong(report, cursor.peek(), &right());
        return None;
    };
    let typed = words.join(" ");
    if let Some((kind, _)) = Kind::NAMES.into_iter().find(|(_, name)| *name == typed) {
        return Some((kind, span));
    }
    report.word(span, &typed, nearest(&typed, names).map_or_else(right, quote));
    None
}

fn slips(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<u16> {
    if cursor.take_word("none").is_some() {
        return Some(0);
    }
    let right = Kind::Slips.example();
    cursor.number(report, 1..=1, right)?;
    let word = cursor.word(report, right)?;
    if !word.is_word("in") {
        report.word(word.span, word.text, "“in”");
        return None;
    }
    // One slip in more notes than a chunk holds is the same as none; 1,000 is our default.
    cursor.number(report, 1..=1_000, "a number from 1 to 1000").map(|(n, _)| n)
}

/// A time, a share, or both with “or” between them.
fn time(kind: Kind, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<TimeAllowance> {
    let ranges = [&Range::TIME, &Range::SHARE];
    let (first, unit, _) = quantity(kind, &ranges, cursor, report)?;
    if cursor.take_word("or").is_none() {
        return Some(match unit {
            Unit::Percent => TimeAllowance::Share(per_mille(first)),
            _ => TimeAllowance::Time(offset(first)),
        });
    }
    let (second, other, span) = quantity(kind, &ranges, cursor, report)?;
    match (unit, other) {
        (Unit::Ms, Unit::Percent) => Some(TimeAllowance::Either(offset(first), per_mille(second))),
        (Unit::Percent, Unit::Ms) => Some(TimeAllowance::Either(offset(second), per_mille(first))),
        _ => {
            report.word(span, other.sign(), "one limit in ms and one in %");
            None
        }
    }
}

fn one(kind: Kind, range: &Range, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<i64> {
    quantity(kind, &[range], cursor, report).map(|(value, ..)| value)
}

/// A share of a whole.
fn share(kind: Kind, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<u16> {
    one(kind, &Range::PART, cursor, report).map(per_mille)
}

fn loudness(kind: Kind, cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Level> {
    let value = one(kind, &Range::LOUDNESS, cursor, report)?;
    // The range is far inside 16 bits.
    Some(Level::from_hundredths(i16::try_from(value).unwrap_or(i16::MAX)))
}

fn click(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Allow> {
    let right = Kind::ClickOffset.example();
    let (word, from) = bare_number(cursor, report, right)?;
    let from = in_range(from, &Range::CLICK, word, report)?;
    // “-45 ms to 25 ms” is as clear as “-45 to 25 ms”.
    let _ = cursor.take_word("ms");
    let to = cursor.word(report, right)?;
    if !to.is_word("to") {
        report.word(to.span, to.text, "“to”");
        return None;
    }
    let (until, _, span) = quantity(Kind::ClickOffset, &[&Range::CLICK], cursor, report)?;
    if from > until {
        let found = format!("“{} to {} ms”", Unit::Ms.show(from), Unit::Ms.show(until));
        report.add(word.to(span), found, "the earlier limit first");
        return None;
    }
    Some(Allow::ClickOffset(offset(from), offset(until)))
}

/// A number in milliseconds whose unit follows later.
fn bare_number(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    right: &str,
) -> Option<(Span, i64)> {
    let _ = cursor.take_sign('+');
    let word = cursor.word(report, right)?;
    let digits = word.text.strip_suffix("ms").unwrap_or(word.text);
    match Unit::Ms.read(digits) {
        Some(value) => Some((word.span, value)),
        None => {
            report.word(word.span, word.text, right);
            None
        }
    }
}

/// A number with one of the units of `ranges`, which may be written without a space.
fn quantity(
    kind: Kind,
    ranges: &[&Range],
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) -> Option<(i64, Unit, Span)> {
    let _ = cursor.take_sign('+');
    let word = cursor.word(report, kind.example())?;
    let unit_at = word
        .text
        .char_indices()
        .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || *i == 0 && "-−–".contains(*c)))
        .map_or(word.text.len(), |(i, _)| i);
    let (digits, attached) = word.text.split_at(unit_at);
    if digits.is_empty() {
        report.word(word.span, word.text, kind.example());
        return None;
    }
    let (unit_text, span) = if attached.is_empty() {
        if let Some(comma) = cursor.peek().filter(|t| t.is_sign(',')) {
            report.word(comma.span, comma.text, "a decimal point, such as 2.5");
            return None;
        }
        let unit = cursor.word(report, &units(ranges))?;
        (unit.text, word.span.to(unit.span))
    } else {
        (attached, word.span)
    };
    let Some(range) = ranges.iter().find(|r| r.unit.sign().eq_ignore_ascii_case(unit_text)) else {
        report.word(cursor.last(), unit_text, units(ranges));
        return None;
    };
    let Some(value) = range.unit.read(digits) else {
        let places = range.unit.places();
        let s = if places == 1 { "" } else { "s" };
        let right = format!("a number with at most {places} decimal place{s}");
        report.word(word.span, digits, right);
        return None;
    };
    let value = in_range(value, range, span, report)?;
    Some((value, range.unit, span))
}

fn units(ranges: &[&Range]) -> String {
    let signs: Vec<&str> = ranges.iter().map(|r| r.unit.sign()).collect();
    format!("the unit {}", signs.join(" or "))
}

fn in_range(value: i64, range: &Range, span: Span, report: &mut Report<'_>) -> Option<i64> {
    if (range.least..=range.most).contains(&value) {
        return Some(value);
    }
    let found = format!("{} {}", range.unit.show(value), range.unit.sign());
    report.word(span, &found, range.in_words());
    None
}

/// Stored milliseconds are microseconds, and their ranges fit.
fn offset(micros: i64) -> Offset {
    Offset::from_micros(i32::try_from(micros).unwrap_or(i32::MAX))
}

fn per_mille(value: i64) -> u16 {
    u16::try_from(value).unwrap_or(u16::MAX)
}
