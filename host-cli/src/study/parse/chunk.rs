//! The lines that begin a chunk or an alternative, and the line of the landing.

use super::cursor::Cursor;
use super::place::start;
use super::{part, setting, voice};
use crate::study::model::{AlternativeText, ChunkText, Landing, Settings};
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

/// Reads what stands after `chunk`: a name, and where it begins. A chunk whose name cannot
/// be read is begun all the same, so that its lines are checked. Only version 2 has parts of the music.
pub(super) fn chunk(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    word: Span,
    with_parts: bool,
) -> ChunkText {
    let before = report.count();
    let name = setting::name(cursor, report);
    let part = if with_parts && name.is_some() { part::part(cursor, report) } else { None };
    let tried = part.is_some() || report.count() > before;
    let at = if tried { None } else { start(cursor, report) };
    let good = report.count() == before;
    ChunkText {
        name: name.unwrap_or_else(|| Spanned::new(String::new(), word)),
        at: at.filter(|_| good),
        part: part.filter(|_| good),
        settings: Settings::default(),
        lines: Vec::new(),
        landing: None,
        alternatives: Vec::new(),
    }
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
    if let Some(nothing) = cursor.take_word("none") {
        return Some(Spanned::new(Landing::Nothing, nothing.span));
    }
    let at = cursor.peek().map_or(cursor.last(), |t| t.span);
    let sound = voice::landing(cursor, report)?;
    Some(Spanned::new(Landing::On(sound), at.to(cursor.last())))
}
