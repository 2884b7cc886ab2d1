//! One thing that is wrong with a study, said so that it can be mended.

use super::span::Span;
use crate::visible::acts;
use std::fmt;

/// How much of a long line is shown, in characters.
const SHOWN: usize = 100;

/// How much of a long word is repeated, in characters.
const QUOTED: usize = 30;

/// What is wrong, where, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The line in the text, from 1; 0 when the study was built in memory and has no text.
    pub line: u32,
    /// The character in that line, from 1.
    pub column: u32,
    /// What was found.
    pub found: String,
    /// What would be right instead.
    pub right: String,
    /// The line of the text, or the part of it around the place if it is long.
    pub excerpt: String,
    /// How many characters of the excerpt stand before the place.
    before: usize,
    /// How many characters to mark.
    width: usize,
}

impl Problem {
    /// A problem at `span` in a text with these lines.
    pub(super) fn new(span: Span, lines: &[&str], found: String, right: String) -> Self {
        let line = (span.line as usize).checked_sub(1).and_then(|i| lines.get(i));
        let (excerpt, before) = excerpt(line.unwrap_or(&""), span.column as usize);
        let length = excerpt.chars().count();
        let before = before.min(length);
        let room = (length - before).max(1);
        let width = (span.width as usize).clamp(1, room);
        Self { line: span.line, column: span.column, found, right, excerpt, before, width }
    }
}

/// The part of `line` around `column`, and how many of its characters stand before that.
fn excerpt(line: &str, column: usize) -> (String, usize) {
    let at = column.saturating_sub(1);
    // Most of the room goes to what stands before the place: that is what led to it.
    let from = if at < SHOWN { 0 } else { at - SHOWN / 2 };
    let mut shown = String::new();
    let mut before = at - from;
    if from > 0 {
        shown.push('…');
        before += 1;
    }
    let mut rest = line.chars().skip(from);
    shown.extend(rest.by_ref().take(SHOWN + 20).map(printable));
    if rest.next().is_some() {
        shown.push('…');
    }
    (shown, before)
}

/// What acts on a terminal would disturb it; a tab would move the mark, and so would a number in
/// the place of a character.
fn printable(c: char) -> char {
    match c {
        '\t' => ' ',
        c if acts(c) => '\u{fffd}',
        c => c,
    }
}

/// A piece of the text between quotation marks, shortened if it is long.
pub(super) fn quote(text: &str) -> String {
    let mut chars = text.chars();
    let mut short: String = chars.by_ref().take(QUOTED).map(printable).collect();
    if chars.next().is_some() {
        short.push('…');
    }
    format!("“{short}”")
}

impl fmt::Display for Problem {
    /// Where it is, what was found and what would be right; then the line itself with a
    /// mark under the place.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}, column {}: ", self.line, self.column)?;
        }
        write!(f, "found {}, {} would be right", self.found, self.right)?;
        if self.excerpt.is_empty() {
            return Ok(());
        }
        let (before, width) = (self.before, self.width);
        write!(f, "\n  {}\n  {:before$}{:^<width$}", self.excerpt, "", "")
    }
}

impl std::error::Error for Problem {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_stands_under_the_place() {
        let span = Span { line: 2, column: 11, width: 3 };
        let lines = ["evenhand study 1", "\tmelody: 1/9 5:3"];
        let problem = Problem::new(span, &lines, quote("1/9"), "a duration".into());
        assert_eq!(
            problem.to_string(),
            "line 2, column 11: found “1/9”, a duration would be right\n   \
             melody: 1/9 5:3\n            ^^^"
        );
    }

    #[test]
    fn long_lines_are_cut_around_the_place() {
        let line = format!("{}HERE{}", "x".repeat(5_000), "y".repeat(5_000));
        let span = Span { line: 1, column: 5_001, width: 9_000 };
        let shown = Problem::new(span, &[&line], quote(&line), "less".into()).to_string();
        assert!(shown.chars().count() < 400, "{shown}");
        let rows: Vec<&str> = shown.lines().collect();
        let column = |row: &str, what: char| row.chars().position(|c| c == what).unwrap();
        assert_eq!(column(rows[1], 'H'), column(rows[2], '^'));
    }

    #[test]
    fn a_place_beyond_the_text_is_no_trouble() {
        let span = Span { line: 9, column: 70_000, width: 0 };
        let problem = Problem::new(span, &["a"], "b".into(), "c".into());
        assert!(problem.to_string().starts_with("line 9, column 70000: found b, c would be right"));
        let nowhere = Problem::new(Span::default(), &[], "b".into(), "c".into());
        assert_eq!(nowhere.to_string(), "found b, c would be right");
    }
}
