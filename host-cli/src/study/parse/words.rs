//! The words before a note: rolled, shift and barre.

use super::cursor::Cursor;
use crate::study::lex::{Kind, Token};
use crate::study::model::{Note, Shift, Sound};
use crate::study::position::Position;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

/// The words that wait for the note they belong to.
#[derive(Default)]
pub(super) struct Words {
    rolled: Option<Span>,
    shift: Option<(Span, Shift)>,
    barre: Option<(Span, Position)>,
}

impl Words {
    /// Takes a word that belongs before a note; `false` if it is another word.
    pub(super) fn take(
        &mut self,
        token: &Token<'_>,
        cursor: &mut Cursor<'_>,
        report: &mut Report<'_>,
    ) -> bool {
        let span = token.span;
        let twice = if token.is_word("rolled") {
            cursor.take();
            self.rolled.replace(span).is_some()
        } else if token.is_word("shift") {
            cursor.take();
            let to = cursor.peek().filter(|t| t.kind == Kind::Word);
            let to = to.and_then(|t| Position::read(t.text));
            if to.is_some() {
                cursor.take();
            }
            self.shift.replace((span, Shift { to })).is_some()
        } else if token.is_word("barre") {
            cursor.take();
            let to = cursor.peek().filter(|t| t.kind == Kind::Word);
            let Some(position) = to.and_then(|t| Position::read(t.text)) else {
                cursor.wrong(report, cursor.peek(), "a position such as V after “barre”");
                return true;
            };
            cursor.take();
            self.barre.replace((span, position)).is_some()
        } else {
            return false;
        };
        if twice {
            report.word(span, token.text, format!("one “{}” before a note", token.text));
        }
        true
    }

    /// The notes with the words that stood before them.
    pub(super) fn before(self, notes: Vec<Spanned<Note>>) -> Sound {
        Sound {
            rolled: self.rolled.is_some(),
            shift: self.shift.map(|(_, shift)| shift),
            barre: self.barre.map(|(_, position)| position),
            notes,
        }
    }

    /// Says so if words wait for a note that does not come.
    pub(super) fn refuse(&mut self, report: &mut Report<'_>) {
        let Self { rolled, shift, barre } = std::mem::take(self);
        let all = [
            ("rolled", rolled),
            ("shift", shift.map(|(span, _)| span)),
            ("barre", barre.map(|(span, _)| span)),
        ];
        for (word, span) in all {
            if let Some(span) = span {
                report.word(span, word, format!("a note or chord after “{word}”"));
            }
        }
    }
}
