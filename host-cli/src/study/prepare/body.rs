//! The notes of all voices together: merged, in order, and playable on one guitar.

use super::VOICES;
use super::bars::{BarCheck, BarPosition};
use super::playable::Sounding;
use super::walk::{self, Hands, VoiceWalk};
use crate::study::model::VoiceLine;
use crate::study::note_value::as_fraction;
use crate::study::pitch_name::PitchName;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use evenhand_core::limits;
use evenhand_core::study::{Attack, Marks, Metre};
use evenhand_core::units::{GuitarString, Ticks};

/// What sounds in a chunk or in an alternative.
#[derive(Clone, Debug, Default)]
pub(super) struct Body {
    /// In the order of [`ExpectedNote::order`](evenhand_core::study::ExpectedNote::order).
    pub(super) notes: Vec<Sounding>,
    /// How long the voices last.
    pub(super) length: Ticks,
    /// The names of the voices in small letters, in the order of their numbers.
    pub(super) voices: Vec<String>,
}

/// Walks along all voices of `lines`; `owner` is the place of the chunk's or alternative's
/// name.
pub(super) fn body(
    lines: &[VoiceLine],
    owner: Span,
    hands: Hands<'_>,
    metre: Metre,
    start: BarPosition,
    report: &mut Report<'_>,
) -> Body {
    let before = report.count();
    let mut voices: Vec<(&Spanned<String>, VoiceWalk<'_>)> = Vec::new();
    for line in lines {
        let known = voices.iter().position(|(name, _)| same_name(name, &line.name));
        let index = match known {
            Some(index) => index,
            None if voices.len() == VOICES => {
                let right = format!("at most {VOICES} voices in a chunk");
                report.word(line.name.span, &line.name, right);
                continue;
            }
            None => {
                let voice = u8::try_from(voices.len()).unwrap_or(u8::MAX);
                let check = BarCheck::new(metre, start.into);
                voices.push((&line.name, VoiceWalk::new(hands, walk::CHUNK, voice, check)));
                voices.len() - 1
            }
        };
        if let Some((_, walk)) = voices.get_mut(index) {
            walk.line(line, None, report);
        }
    }
    let mut notes = Vec::new();
    let mut ends: Vec<(&Spanned<String>, Ticks)> = Vec::new();
    for (name, walk) in voices {
        let (sounding, end) = walk.finish();
        notes.extend(sounding);
        ends.push((name, end));
    }
    let length = ends.iter().map(|(_, end)| *end).max().unwrap_or_default();
    check_ends(&ends, length, report);
    if notes.is_empty() && report.count() == before {
        report.add(owner, "no notes", "at least one note under this line");
    }
    let notes = merged(notes);
    check_together(&notes, report);
    check_strings(&notes, report);
    let voices = ends.iter().map(|(name, _)| name.value.to_lowercase()).collect();
    Body { notes, length, voices }
}

pub(in crate::study) fn same_name(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

/// All voices of a chunk end together.
fn check_ends(ends: &[(&Spanned<String>, Ticks)], length: Ticks, report: &mut Report<'_>) {
    let Some((longest, _)) = ends.iter().find(|(_, end)| *end == length) else {
        return;
    };
    for (name, end) in ends {
        if *end < length {
            let by = as_fraction(length.since(*end));
            let found = format!("{} {by} shorter than {}", quote(name), quote(longest));
            report.add(name.span, found, "voices that end together, with rests where needed,");
        }
    }
}

/// The notes in order; the same note in two voices becomes one, with the marks of both and
/// the longer duration.
pub(super) fn merged(mut notes: Vec<Sounding>) -> Vec<Sounding> {
    notes.sort_by_key(|s| (s.note.order(), s.note.voice));
    let mut merged: Vec<Sounding> = Vec::with_capacity(notes.len());
    for next in notes {
        match merged.last_mut() {
            Some(last) if last.note.order() == next.note.order() => unite(last, &next),
            _ => merged.push(next),
        }
    }
    merged
}

fn unite(into: &mut Sounding, other: &Sounding) {
    let (note, hand) = (&mut into.note, &mut into.hand);
    note.duration = note.duration.max(other.note.duration);
    note.marks = note.marks.with(other.note.marks);
    note.trill = note.trill.or(other.note.trill);
    if other.note.attack == Attack::Slurred {
        note.attack = Attack::Slurred;
    }
    hand.left = hand.left.or(other.hand.left);
    hand.right = hand.right.or(other.hand.right);
    hand.shift = hand.shift.or(other.hand.shift);
    hand.barre = hand.barre.or(other.hand.barre);
    hand.slur = hand.slur.or(other.hand.slur);
    hand.trill_fret = hand.trill_fret.or(other.hand.trill_fret);
}

/// No more notes begin together than the judge takes.
pub(super) fn check_together(notes: &[Sounding], report: &mut Report<'_>) {
    for chord in notes.chunk_by(|a, b| a.note.onset == b.note.onset) {
        if let Some(over) = chord.get(limits::NOTES_TOGETHER) {
            let found = format!("{} notes that begin together", chord.len());
            report.add(over.span, found, format!("at most {}", limits::NOTES_TOGETHER));
        }
    }
}

/// A string sounds one note at a time.
///
/// Written lengths may overlap where the same note is struck again, and where a note is
/// marked short. Otherwise the fingering cannot be played as written.
pub(super) fn check_strings(notes: &[Sounding], report: &mut Report<'_>) {
    let mut by_string: Vec<&Sounding> = notes.iter().filter(|s| s.note.string.is_some()).collect();
    by_string.sort_by_key(|s| (s.note.string, s.note.onset));
    for string in by_string.chunk_by(|a, b| a.note.string == b.note.string) {
        let mut sounding: Option<&Sounding> = None;
        for next in string {
            if let Some(before) = sounding {
                clash(before, next, report);
            }
            if sounding.is_none_or(|s| end(s) <= end(next)) {
                sounding = Some(next);
            }
        }
    }
}

fn end(s: &Sounding) -> Ticks {
    s.note.onset.plus(s.note.duration)
}

fn clash(before: &Sounding, next: &Sounding, report: &mut Report<'_>) {
    let string = next.note.string.map_or(0, GuitarString::number);
    if before.note.onset == next.note.onset {
        // Told at the one that is written later.
        let written = |s: &Sounding| (s.span.line, s.span.column);
        let later = if written(before) > written(next) { before } else { next };
        let found = format!("two notes at once on string {string}");
        report.add(later.span, found, "one note on a string at a time");
        return;
    }
    let held = before.note.marks.has(Marks::HELD);
    let again = before.note.pitch == next.note.pitch && !held;
    let cut = before.note.marks.has(Marks::STACCATO);
    if end(before) > next.note.onset && !again && !cut {
        let other = PitchName::of(before.note.pitch);
        let found = format!("a note on string {string} while {other} still sounds there");
        report.add(next.span, found, format!("a shorter {other}, or another string"));
    }
}
