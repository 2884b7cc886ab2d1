//! The items of a voice: values, notes, rests, ties, barlines and tuplets.

use super::cursor::Cursor;
use super::words::Words;
use super::{again, sound};
use crate::study::guess::nearest;
use crate::study::lex::{Kind, Token};
use crate::study::model::{FigureText, FigureUse, Item, Sound, Step, Tuplet};
use crate::study::note_value::{NoteValue, Ratio};
use crate::study::pitch_name::PitchName;
use crate::study::position::Position;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

const ITEM: &str = "a note such as 5:3 or C#4, a duration such as 1/8, rest, tie or |";
const DURATION: &str = "a duration such as 1/4, 1/8. or 1/16";

/// The words that can stand in a voice.
const WORDS: [&str; 6] = ["rest", "tie", "rolled", "shift", "barre", "as"];

/// Whether a word has a meaning in a voice, so that no figure can be called that.
pub(super) fn is_taken(word: &str) -> bool {
    WORDS.iter().any(|known| known.eq_ignore_ascii_case(word)) || sound::resembles_note(word)
}

/// Reads the items of one line, in which these figures may stand.
pub(super) fn items(
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
    figures: &[FigureText],
) -> Vec<Spanned<Item>> {
    let mut line = Line { figures, ..Line::default() };
    while let Some(token) = cursor.peek() {
        line.item(token, cursor, report);
    }
    if let Some(open) = line.tuplet.take() {
        report.word(open.at, &open.ratio.to_string(), "a closing ] on the same line");
    }
    line.words.refuse(report);
    line.items
}

/// Reads the notes of a landing; `None` when something else stands there.
pub(super) fn landing(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Sound> {
    let mut words = Words::default();
    while let Some(token) = cursor.peek() {
        if token.kind == Kind::Word && words.take(&token, cursor, report) {
            continue;
        }
        if !sound::begins(&token) {
            break;
        }
        let notes = sound::notes(cursor, report);
        return (!notes.is_empty()).then(|| words.before(notes));
    }
    let right = "“next” or a chord such as 5:3+4:2+3:0 after “landing”";
    cursor.wrong(report, cursor.peek(), right);
    None
}

/// What was read of a line so far.
#[derive(Default)]
struct Line<'f> {
    figures: &'f [FigureText],
    items: Vec<Spanned<Item>>,
    words: Words,
    tuplet: Option<Open>,
}

/// A tuplet that is not closed yet.
struct Open {
    ratio: Ratio,
    at: Span,
    steps: Vec<Spanned<Step>>,
}

impl Line<'_> {
    /// Reads one item; always takes at least one token.
    fn item(&mut self, token: Token<'_>, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
        if token.is_sign('^') {
            return self.sound(token.span, cursor, report);
        }
        if token.kind == Kind::Word {
            return self.word(token, cursor, report);
        }
        cursor.take();
        match token.kind {
            Kind::Sign('|') => self.barline(token, report),
            Kind::Sign(']') => self.close(token, report),
            Kind::Sign('[') => {
                report.word(token.span, "[", "the ratio of a tuplet before it, such as 3in2[");
            }
            Kind::Sign('+') => report.word(token.span, "+", "+ only between the notes of a chord"),
            Kind::Sign('(' | ')' | ',') => {
                report.word(token.span, token.text, "marks in one ( ) directly after a note");
            }
            _ => report.word(token.span, token.text, ITEM),
        }
    }

    fn word(&mut self, token: Token<'_>, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
        let word = token.text;
        if sound::begins(&token) {
            return self.sound(token.span, cursor, report);
        }
        if self.words.take(&token, cursor, report) {
            return;
        }
        cursor.take();
        if let Some(figure) = self.figures.iter().find(|figure| token.is_word(&figure.name)) {
            return self.figure(&figure.name.value, token.span, cursor, report);
        }
        if token.is_word("as") {
            self.words.refuse(report);
            let again = again::again(cursor, report, token.span);
            if again.is_none() {
                // What is left of it is no trouble of its own.
                while cursor.peek().is_some_and(|token| !token.is_sign('|')) {
                    cursor.take();
                }
            }
            let item = again.map(|again| Spanned::new(Item::Again(again.value), again.span));
            return self.whole(item, report);
        }
        if let Some(value) = NoteValue::read(word) {
            self.step(Step::Value(value), token.span);
        } else if token.is_word("rest") || token.is_word("tie") {
            let step = if token.is_word("rest") { Step::Rest } else { Step::Tie };
            self.words.refuse(report);
            self.step(step, token.span);
        } else if Ratio::resembles(word) {
            self.open(token, cursor, report);
        } else {
            report.word(token.span, word, guess(word, self.figures));
            // The position after a mistyped “shift” or “barre” is no trouble of its own.
            let meant = nearest(word, WORDS).is_some_and(|w| matches!(w, "shift" | "barre"));
            if meant && cursor.peek().is_some_and(|t| Position::read(t.text).is_some()) {
                cursor.take();
            }
        }
    }

    fn step(&mut self, step: Step, span: Span) {
        match &mut self.tuplet {
            Some(open) => open.steps.push(Spanned::new(step, span)),
            None => self.items.push(Spanned::new(Item::Step(step), span)),
        }
    }

    fn sound(&mut self, span: Span, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
        let notes = sound::notes(cursor, report);
        let sound = std::mem::take(&mut self.words).before(notes);
        if !sound.notes.is_empty() {
            self.step(Step::Sound(sound), span);
        }
    }

    /// Reads the chord that a figure is played on.
    fn figure(&mut self, name: &str, span: Span, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
        std::mem::take(&mut self.words).refuse(report);
        let mut before_chord = Words::default();
        while let Some(token) = cursor.peek() {
            if token.kind != Kind::Word || !before_chord.take(&token, cursor, report) {
                break;
            }
        }
        if !cursor.peek().is_some_and(|token| sound::begins(&token)) {
            let right = format!("a chord after {}, such as 5:3+3:0+2:1", quote(name));
            cursor.wrong(report, cursor.peek(), &right);
            return;
        }
        let chord = before_chord.before(sound::notes(cursor, report));
        if chord.notes.is_empty() {
            return;
        }
        let used = FigureUse { name: name.to_owned(), chord };
        let item = Spanned::new(Item::Figure(used), span.to(cursor.last()));
        self.whole(Some(item), report);
    }

    /// What can stand in no tuplet.
    fn whole(&mut self, item: Option<Spanned<Item>>, report: &mut Report<'_>) {
        let Some(item) = item else { return };
        match &self.tuplet {
            Some(open) => report.add(
                item.span,
                "a repetition in a tuplet",
                format!("] before it, to close {}", open.ratio),
            ),
            None => self.items.push(item),
        }
    }

    fn barline(&mut self, token: Token<'_>, report: &mut Report<'_>) {
        if let Some(open) = &self.tuplet {
            let right = format!("] before the barline, to close {}", open.ratio);
            report.word(token.span, "|", right);
        } else {
            self.items.push(Spanned::new(Item::Barline, token.span));
        }
    }

    fn open(&mut self, token: Token<'_>, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
        let bracket = cursor.take_sign('[');
        if bracket.is_none() {
            report.word(token.span, token.text, format!("“{}[” before its notes", token.text));
        }
        let Some(ratio) = Ratio::read(token.text) else {
            report.word(token.span, token.text, "a ratio such as 3in2, 5in4, 6in4 or 7in4");
            // The bracket is still followed to its end, under any ratio.
            self.tuplet = bracket.and_then(|_| Ratio::new(3, 2)).map(|ratio| Open {
                ratio,
                at: token.span,
                steps: Vec::new(),
            });
            return;
        };
        if self.tuplet.is_some() {
            report.word(token.span, token.text, "] before it: tuplets do not stand in each other");
        } else if bracket.is_some() {
            self.tuplet = Some(Open { ratio, at: token.span, steps: Vec::new() });
        }
    }

    fn close(&mut self, token: Token<'_>, report: &mut Report<'_>) {
        self.words.refuse(report);
        let Some(open) = self.tuplet.take() else {
            report.word(token.span, "]", "a tuplet such as 3in2[ before it");
            return;
        };
        if open.steps.is_empty() {
            report.add(open.at, "a tuplet with nothing in it", "notes between the brackets");
            return;
        }
        let tuplet = Tuplet { ratio: open.ratio, steps: open.steps };
        self.items.push(Spanned::new(Item::Tuplet(tuplet), open.at));
    }
}

/// What a word that is none of ours was probably meant to be.
fn guess(word: &str, known: &[FigureText]) -> String {
    let figures = word.starts_with(|c: char| c.is_ascii_digit());
    if figures && word.contains('/') {
        return match sound::meant(word).filter(|_| !word.starts_with("1/")) {
            Some(note) => format!("{note} for a note, or {DURATION}"),
            None => DURATION.into(),
        };
    }
    if let Some(note) = sound::meant(word) {
        return note;
    }
    if Position::read(word).is_some() && !figures {
        return "“shift” or “barre” before a position".into();
    }
    // In German and the Nordic languages B is called H.
    let rest = word.strip_prefix(['H', 'h']);
    if let Some(name) = rest.and_then(|rest| PitchName::read(&format!("B{rest}"))) {
        return quote(&name.to_string());
    }
    let names = known.iter().map(|figure| figure.name.as_str());
    nearest(word, WORDS.into_iter().chain(names)).map_or_else(|| ITEM.into(), quote)
}
