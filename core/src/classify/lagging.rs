//! Strokes of a string that each come with the pitch of the one before.
//!
//! A converter that hears a stroke before its new pitch sends the old one; where it does so several times in
//! a row, each pitch comes one stroke late, and what is left is a note too many at the beginning and one too
//! few at the end, with as many strokes as are written, each in its time. A hand would have to add a note,
//! leave another out, and be late by just a note between them.

use super::neighbours::{MILLI, apart, same_place};
use crate::align::{Material, Role};
use crate::attempt::PlayedNote;
use crate::study::ExpectedNote;

/// Notes that are looked at: so many notes of a string lag at most, and among so many others. Our defaults.
const RUN: usize = 8;
const AMONG: usize = 32;

/// Between two pitches of one string a finger that makes the second out of the first passes no longer than
/// this. Our default.
const ON_THE_WAY: i32 = 120 * MILLI;

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
    material.right(from)?;
    let rest = notes.iter().enumerate().skip(from + 1).take(AMONG);
    let mut run = rest.filter(|(_, next)| next.string == Some(string)).take(RUN).peekable();
    let (_, next) = *run.peek()?;
    // The pitch of the one before, or one on the way from that.
    let (old, new) = (wanted.pitch.number(), next.pitch.number());
    let on_the_way = old.min(new) + 1..old.max(new);
    if note.pitch != wanted.pitch {
        let after = played_after(material, by);
        let is_a_stroke = after.is_some_and(|after| apart(note, after) > ON_THE_WAY);
        if !is_a_stroke || !on_the_way.contains(&note.pitch.number()) {
            return None;
        }
    }
    if !is_due(material, wanted, next, apart(material.played.get(before)?, note)) {
        return None;
    }
    let not_right = run.find(|(index, _)| material.right(*index).is_none());
    let (end, _) = not_right?;
    material.pairing.played(end).is_none().then_some(end)
}

/// Whether such a run ended there that began with a stroke of which nothing came: so the notes up to this one
/// came each in the time of the next, after a pause or from the beginning, and this one lacks with its time.
fn ends_a_late_run(material: Material<'_>, index: usize) -> bool {
    let notes = material.chunk.notes();
    let Some(wanted) = notes.get(index) else { return false };
    let near = (index + 1..notes.len()).take(RUN);
    let Some(next) = near.into_iter().find(|&next| material.right(next).is_some()) else {
        return false;
    };
    for first in (index.saturating_sub(RUN)..index).rev() {
        let (Some(note), Some(played)) = (notes.get(first), material.right(first)) else {
            return false;
        };
        if wanted.string.is_none() || note.string != wanted.string {
            return false;
        }
        if first + 1 == index {
            // From the last note of the run to the next there is no time for one between.
            let passed = material.right(next).map_or(0, |next| apart(played, next));
            if !notes.get(next).is_some_and(|next| is_due(material, wanted, next, passed)) {
                return false;
            }
        }
        let Some(before) = first.checked_sub(1) else { return true };
        let (Some(earlier), Some(began)) = (notes.get(before), material.right(before)) else {
            return false;
        };
        if is_longer(material, earlier, note, apart(began, played)) {
            return true;
        }
    }
    false
}

/// Whether a stroke more had room between two notes than is written.
fn is_longer(material: Material<'_>, from: &ExpectedNote, to: &ExpectedNote, passed: i32) -> bool {
    let written = material.chunk.tempo().lasting(to.onset.since(from.onset)).as_micros();
    i64::from(passed) * 100 > i64::from(written) * LATEST
}

/// The next note on its string.
fn played_after<'a>(material: Material<'a>, by: usize) -> Option<&'a PlayedNote> {
    let note = material.played.get(by)?;
    let after = material.played.iter().skip(by + 1).take(AMONG);
    after.into_iter().find(|after| same_place(after, note) != Some(false))
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
    if ends_a_late_run(material, index) {
        return true;
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
