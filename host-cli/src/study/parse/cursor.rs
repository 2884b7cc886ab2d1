//! Walks along the tokens of one line.

use crate::study::lex::{Kind, Token};
use crate::study::report::Report;
use crate::study::span::Span;

/// The tokens of a line, read one by one.
pub(super) struct Cursor<'t> {
    tokens: Vec<Token<'t>>,
    next: usize,
    last: Span,
}

impl<'t> Cursor<'t> {
    /// The tokens after a word that stands at `word`.
    pub(super) fn new(tokens: Vec<Token<'t>>, word: Span) -> Self {
        Self { tokens, next: 0, last: word }
    }

    /// The next token, left where it is.
    pub(super) fn peek(&self) -> Option<Token<'t>> {
        self.tokens.get(self.next).copied()
    }

    /// The next token, taken.
    pub(super) fn take(&mut self) -> Option<Token<'t>> {
        let token = self.peek()?;
        self.next += 1;
        self.last = token.span;
        Some(token)
    }

    /// Takes the next token if it is this sign.
    pub(super) fn take_sign(&mut self, sign: char) -> Option<Token<'t>> {
        if self.peek()?.is_sign(sign) { self.take() } else { None }
    }

    /// Takes the next token if it is this word.
    pub(super) fn take_word(&mut self, word: &str) -> Option<Token<'t>> {
        if self.peek()?.is_word(word) { self.take() } else { None }
    }

    /// The token taken last.
    pub(super) const fn last(&self) -> Span {
        self.last
    }

    /// The next token as a word; otherwise says that `right` should stand here.
    pub(super) fn word(&mut self, report: &mut Report<'_>, right: &str) -> Option<Token<'t>> {
        match self.peek() {
            Some(token) if token.kind == Kind::Word => self.take(),
            other => {
                self.wrong(report, other, right);
                None
            }
        }
    }

    /// The next token as a whole number between bounds; otherwise says that `right` should
    /// stand here. A word that is no such number is taken all the same.
    pub(super) fn number(
        &mut self,
        report: &mut Report<'_>,
        bounds: std::ops::RangeInclusive<u16>,
        right: &str,
    ) -> Option<(u16, Span)> {
        let word = self.word(report, right)?;
        let digits = word.text.len() <= 5 && word.text.bytes().all(|b| b.is_ascii_digit());
        match word.text.parse() {
            Ok(number) if digits && bounds.contains(&number) => Some((number, word.span)),
            _ => {
                report.word(word.span, word.text, right);
                None
            }
        }
    }

    /// Says that `right` should stand where `token` is, or at the end of the line.
    pub(super) fn wrong(&self, report: &mut Report<'_>, token: Option<Token<'_>>, right: &str) {
        match token {
            Some(token) => report.word(token.span, token.text, right),
            None => {
                let end = self.last.column.saturating_add(self.last.width);
                let span = Span { column: end, width: 1, ..self.last };
                report.add(span, "the end of the line", right);
            }
        }
    }

    /// Says so if something is left on the line.
    pub(super) fn finish(mut self, report: &mut Report<'_>) {
        if let Some(token) = self.take() {
            report.word(token.span, token.text, "nothing more on this line");
        }
    }
}
