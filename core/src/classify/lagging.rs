//! Strokes of a string that each come with the pitch of the one before.
//!
//! A converter that hears a stroke before its new pitch sends the old one; where it does so several times in
//! a row, each pitch comes one stroke late, and what is left is a note too many at the beginning and one too
//! few at the end, with as many strokes as are written, each in its time. A hand would have to add a note,
//! leave another out, and be late by just a note between them.

use super::neighbours::apart;
use crate::align::{Material, Role};
use crate::study::ExpectedNote;

/// Notes that are looked at: so many notes of a string lag at most, and among so many others. Our defaults.
const RUN: usize = 8;
const AMONG: usize = 32;

/// The stroke comes when the next note of its string was due, by the tempo that is practised, from this
/// share of the written time on up to that one, in per cent. Our defaults.
const SOONEST: i64 = 65;
const LATEST: i64 = 150;

/// The expected note that did not come because the note `by` beside them was the first of such a run.
pub(super) fn lost_at_its_end(material: Material<'_>, by: usize) -> Option<usize> {
    let notes = material.chunk.notes();
    let note = material.played.get(by).filter(|note| note.is_struck())?;
    if material.pairing.role(by) != Role::Extra {
        return None;
    }
    let last = (0..by).rev().take(AMONG).find_map(|before| match material.pairing.role(before) {
        Role::Note(index) => {
            let wanted = notes.get(index)?;
            let is_here = note.string.is_none() || wanted.string == note.string;
            is_here.then_some((index, wanted, before))
        }
        Role::Trill(_) | Role::Extra => None,
    });
    let (from, wanted, before) = last?;
    let string = wanted.string?;
    if wanted.pitch != note.pitch || material.right(from).is_none() {
        return None;
    }
    let rest = notes.iter().enumerate().skip(from + 1).take(AMONG);
    let mut run = rest.filter(|(_, next)| next.string == Some(string)).take(RUN).peekable();
    let (_, next) = *run.peek()?;
    if !is_due(material, wanted, next, apart(material.played.get(before)?, note)) {
        return None;
    }
    let not_right = run.find(|(index, _)| material.right(*index).is_none());
    let (end, _) = not_right?;
    material.pairing.played(end).is_none().then_some(end)
}

fn is_due(material: Material<'_>, from: &ExpectedNote, to: &ExpectedNote, passed: i32) -> bool {
    let written = material.chunk.tempo().lasting(to.onset.since(from.onset)).as_micros();
    let (passed, written) = (i64::from(passed) * 100, i64::from(written));
    (written * SOONEST..=written * LATEST).contains(&passed)
}

/// Whether nothing came of the expected note `index` because such a run ended there.
pub(crate) fn ends_a_lag(material: Material<'_>, index: usize) -> bool {
    let notes = material.chunk.notes();
    if material.pairing.played(index).is_some() {
        return false;
    }
    let string = notes.get(index).and_then(|note| note.string);
    let on_string =
        |&before: &usize| string.is_some() && notes.get(before).is_some_and(|n| n.string == string);
    let before = (index.saturating_sub(AMONG)..index).rev().find(on_string);
    let Some(last) = before.and_then(|before| material.pairing.played(before)) else {
        return false;
    };
    let near = last.saturating_sub(AMONG)..(last + RUN).min(material.played.len());
    near.into_iter().any(|by| lost_at_its_end(material, by) == Some(index))
}
