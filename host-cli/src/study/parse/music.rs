//! The lines of the music that a study has once: where a section begins, and figures.

use super::cursor::Cursor;
use super::{place, voice};
use crate::study::model::{FigureText, Item, Section, Start, Step};
use crate::study::name::{LONGEST, is_voice_char};
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

/// Reads what stands after `music`: where it begins, or nothing for bar 1.
pub(super) fn beginning(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    word: Span,
) -> Option<Section> {
    let at = match cursor.peek() {
        None => Spanned::new(Start { bar: 1, beat: None, plus: None }, word),
        Some(_) => place::start(cursor, report)?,
    };
    Some(section(at))
}

/// Reads what stands after `bar`: its number.
pub(super) fn bar(cursor: &mut Cursor<'_>, report: &mut Report<'_>, word: Span) -> Option<Section> {
    let bar = place::bar(cursor, report)?;
    Some(section(Spanned::new(Start { bar, beat: None, plus: None }, word.to(cursor.last()))))
}

const fn section(at: Spanned<Start>) -> Section {
    Section { at, metre: None, tempo: None, lines: Vec::new() }
}

/// Reads what stands after `figure`: a name, a colon, and steps.
pub(super) fn figure(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<FigureText> {
    let right = "a name and a colon after “figure”, such as “figure waves:”";
    let word = cursor.word(report, right)?;
    let name = word.text.strip_suffix(':').or_else(|| {
        let colon = cursor.peek().is_some_and(|token| token.text == ":");
        colon.then(|| cursor.take()).and(Some(word.text))
    });
    let good = |name: &&str| {
        name.starts_with(char::is_alphabetic)
            && name.chars().all(is_voice_char)
            && name.chars().count() <= LONGEST
    };
    let Some(name) = name.filter(good) else {
        report.word(word.span, word.text, right);
        return None;
    };
    if voice::is_taken(name) {
        report.word(word.span, name, "another name, as this word has a meaning in a voice");
        return None;
    }
    if cursor.peek().is_none() {
        cursor.wrong(report, None, "steps after the name of the figure, such as 1/8 1st(p) 2nd(i)");
        return None;
    }
    let items = voice::items(cursor, report, &[]);
    for item in &items {
        match &item.value {
            Item::Step(_) | Item::Tuplet(_) => {}
            Item::Barline => report.word(item.span, "|", "no barline in a figure"),
            Item::Figure(_) | Item::Again(_) => {
                report.add(item.span, "a repetition in a figure", "notes of the chord, and rests");
            }
        }
    }
    let sounds = |item: &Spanned<Item>| match &item.value {
        Item::Step(step) => matches!(step, Step::Sound(_)),
        Item::Tuplet(tuplet) => {
            tuplet.steps.iter().any(|step| matches!(step.value, Step::Sound(_)))
        }
        _ => false,
    };
    if !items.iter().any(sounds) {
        report.word(word.span, name, "a figure with a note in it");
    }
    Some(FigureText { name: Spanned::new(name.to_owned(), word.span), items })
}
