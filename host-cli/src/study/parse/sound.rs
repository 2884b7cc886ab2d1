//! Notes and chords with their marks.

use super::cursor::Cursor;
use crate::study::guess::nearest;
use crate::study::lex::{Kind, Token};
use crate::study::model::{LeftFinger, Note, RightFinger, Spot, TrillTo};
use crate::study::pitch_name::PitchName;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::Spanned;
use evenhand_core::units::GuitarString;

/// The highest fret that can be typed; what the guitar has is checked later.
const LARGEST_FRET: u8 = 99;

const NOTE: &str = "a note such as 5:3 (string 5, fret 3) or C#4";
const MARK: &str = "a finger (1 2 3 4 t or p i m a c), trill, hold, accent or short";

/// Whether a note can begin with this token, rightly spelt or not.
pub(super) fn begins(token: &Token<'_>) -> bool {
    token.is_sign('^') || token.kind == Kind::Word && resembles_note(token.text)
}

/// Whether a word looks like a string and a fret, or is the name of a pitch.
pub(super) fn resembles_note(word: &str) -> bool {
    word.contains(':') || PitchName::read(word).is_some() || of_chord(word).is_some()
}

/// `1st`, `2nd` and so on: a note of the chord that a figure is played on.
fn of_chord(word: &str) -> Option<u8> {
    const NUMBERS: [&str; 8] = ["1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th"];
    let at = NUMBERS.iter().position(|number| number.eq_ignore_ascii_case(word))?;
    u8::try_from(at + 1).ok()
}

/// Reads the notes joined by `+`, and their marks. Empty when none of them can be read.
pub(super) fn notes(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Vec<Spanned<Note>> {
    let mut notes = Vec::new();
    loop {
        notes.extend(note(cursor, report));
        if cursor.take_sign('+').is_none() {
            return notes;
        }
    }
}

fn note(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<Spanned<Note>> {
    let slur = cursor.take_sign('^');
    let token = match cursor.peek() {
        Some(token) if token.kind == Kind::Word => token,
        other => {
            cursor.wrong(report, other, NOTE);
            return None;
        }
    };
    cursor.take();
    let spot = spot(&token, report);
    let mut note = spot.map(Note::plain);
    if let Some(open) = cursor.take_sign('(') {
        // The marks of a note that cannot be read are checked all the same.
        let mut lost = Note::plain(Spot::Fretted(GuitarString::new(1)?, 0));
        marks(open, note.as_mut().unwrap_or(&mut lost), cursor, report);
    }
    let mut note = note?;
    note.slurred = slur.is_some();
    let span = slur.map_or(token.span, |s| s.span.to(token.span));
    Some(Spanned::new(note, span))
}

fn spot(token: &Token<'_>, report: &mut Report<'_>) -> Option<Spot> {
    let word = token.text;
    if let Some(name) = PitchName::read(word) {
        return Some(Spot::Named(name));
    }
    if let Some(number) = of_chord(word) {
        return Some(Spot::OfChord(number));
    }
    let Some((string, fret)) = word.split_once(':') else {
        report.word(token.span, word, meant(word).unwrap_or_else(|| NOTE.into()));
        return None;
    };
    if string.starts_with(char::is_alphabetic) {
        report.word(token.span, word, "each voice on a line of its own");
        return None;
    }
    let Some(string) = small_number(string).and_then(GuitarString::new) else {
        let right = format!("a string from 1 (highest) to {} before the colon", GuitarString::MOST);
        report.word(token.span, word, right);
        return None;
    };
    match small_number(fret) {
        Some(fret) => Some(Spot::Fretted(string, fret)),
        None => {
            report.word(token.span, word, "a fret of one or two figures after the colon");
            None
        }
    }
}

/// The note that was probably meant where something else stands between two numbers.
pub(super) fn meant(word: &str) -> Option<String> {
    let (string, fret) = word.split_once(['.', '-', '/', ';', '_'])?;
    let string = small_number(string).and_then(GuitarString::new)?;
    let fret = small_number(fret)?;
    Some(format!("“{}:{fret}”", string.number()))
}

/// A number of one or two figures.
fn small_number(text: &str) -> Option<u8> {
    let plain = matches!(text.len(), 1..=2) && text.bytes().all(|b| b.is_ascii_digit());
    if plain { text.parse().ok().filter(|n| *n <= LARGEST_FRET) } else { None }
}

/// Reads the marks up to the closing parenthesis.
fn marks(open: Token<'_>, note: &mut Note, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
    loop {
        match cursor.peek() {
            Some(token) if token.is_sign(')') => {
                cursor.take();
                return;
            }
            Some(token) if token.is_sign(',') => {
                cursor.take();
            }
            Some(token) if token.kind == Kind::Word && !resembles_note(token.text) => {
                cursor.take();
                mark(&token, note, cursor, report);
            }
            // What follows is no mark: the parenthesis was forgotten.
            _ => {
                report.word(open.span, open.text, "a closing ) after the marks of the note");
                return;
            }
        }
    }
}

fn mark(token: &Token<'_>, note: &mut Note, cursor: &mut Cursor<'_>, report: &mut Report<'_>) {
    let word = token.text.to_lowercase();
    let sign = single(&word);
    let left = LeftFinger::ALL.into_iter().find(|(_, s)| Some(*s) == sign);
    let right = RightFinger::ALL.into_iter().find(|(_, s)| Some(*s) == sign);
    let twice = if let Some((finger, _)) = left {
        note.left.replace(finger).is_some()
    } else if let Some((finger, _)) = right {
        note.right.replace(finger).is_some()
    } else {
        match word.as_str() {
            "trill" => {
                let to = trill(cursor, report);
                to.is_some_and(|to| note.trill.replace(to).is_some())
            }
            "hold" => std::mem::replace(&mut note.hold, true),
            "accent" => std::mem::replace(&mut note.accent, true),
            "short" => std::mem::replace(&mut note.short, true),
            _ => {
                let guess = apart(&word)
                    .or_else(|| nearest(&word, ["trill", "hold", "accent", "short"]).map(quote));
                report.word(token.span, token.text, guess.unwrap_or_else(|| MARK.into()));
                false
            }
        }
    };
    if twice {
        report.word(token.span, token.text, "one mark of each kind on a note");
    }
}

fn single(word: &str) -> Option<char> {
    let mut chars = word.chars();
    chars.next().filter(|_| chars.next().is_none())
}

/// “3p” was meant to be “3 p”.
fn apart(word: &str) -> Option<String> {
    let mut chars = word.chars();
    let (first, second) = (chars.next()?, chars.next()?);
    let left = |c: char| LeftFinger::ALL.iter().any(|(_, s)| *s == c);
    let right = |c: char| RightFinger::ALL.iter().any(|(_, s)| *s == c);
    let two =
        chars.next().is_none() && (left(first) && right(second) || right(first) && left(second));
    two.then(|| format!("“{first} {second}”"))
}

fn trill(cursor: &mut Cursor<'_>, report: &mut Report<'_>) -> Option<TrillTo> {
    let right = "the other fret or pitch after “trill”, such as trill 5 or trill D3";
    let word = cursor.word(report, right)?;
    let fret = small_number(word.text).map(TrillTo::Fret);
    let to = fret.or_else(|| PitchName::read(word.text).map(TrillTo::Named));
    if to.is_none() {
        report.word(word.span, word.text, right);
    }
    to
}
