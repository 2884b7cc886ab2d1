//! Notes that a converter begins twice, announces by noise, or takes for others.
//!
//! A string that begins the same pitch again at once was plucked once. The first of the two is
//! the note: it has its time and its loudness. And the second is no other note that the chunk
//! expects, however well it would fit. Where strings are known, [`Attempt`] has told that
//! already; here it is told where they are not.
//!
//! [`Attempt`]: crate::attempt::Attempt
//!
//! Of two notes of one pitch on one string, of which the chunk expects one, the much stronger
//! is the note: a weak one before it is what a lifted finger or another string's attack left.

use super::costs::is_right;
use super::pairing::{PairingMut, Role};
use super::together::{is_mistaken, same_string};
use crate::attempt::{Onset, PlayedNote};
use crate::study::ExpectedNote;

/// Share of the strong note's velocity, in per cent. Our default.
const WEAKER: u8 = 60;

/// A ghost comes within this time of the note that makes it, weaker than this share of it, in per
/// cent. Our defaults.
const AROUND: i32 = 60_000;
const FAINT: u8 = 35;

/// Notes that are looked at before another: more than a chord and its noise.
const LOOK_BACK: usize = 16;

/// A weak note and the strong one that it is mistaken for are no further apart than this. Our
/// default: longer than noise comes early, shorter than most notes are apart.
const ANNOUNCED: i32 = 250_000;

pub(super) fn settle(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    once(notes, played, pairing);
    in_its_own_place(notes, played, pairing);
    stronger(notes, played, pairing);
    at_home(notes, played, pairing);
    noise(notes, played, pairing);
}

/// Where the note of an expected one is weak, and a strong one that is nobody's follows on its
/// string, of its pitch or of one that a converter takes for it, takes that.
fn stronger(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    for (by, note) in played.iter().enumerate() {
        let Role::Note(index) = pairing.role(by) else { continue };
        let Some(wanted) = notes.get(index) else { continue };
        let near = played.iter().enumerate().skip(by + 1).take(LOOK_BACK);
        let mut on_string =
            near.filter(|(_, other)| other.string == note.string || other.string.is_none());
        let Some((other_by, other)) = on_string.next() else { continue };
        let apart = other.at.as_micros().saturating_sub(note.at.as_micros());
        if (other.pitch == note.pitch || is_mistaken(wanted, other))
            && pairing.role(other_by) == Role::Extra
            && apart <= ANNOUNCED
            && !other.is_begun_again(note)
            && note.is_weaker(other, WEAKER) == Some(true)
        {
            pairing.replace(index, other_by);
        }
    }
}

/// Where a note stands as a wrong one in the place before its own, and its own has another of its pitch, it
/// takes its own, if it is on the string of that and not on the one before's, or if the other is weak and
/// comes right before what follows: nothing came of the one before, and the other is one too many.
fn in_its_own_place(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    for (index, (wanted, own)) in notes.iter().zip(notes.iter().skip(1)).enumerate() {
        let paired = |index: usize| {
            let by = pairing.played(index)?;
            Some((by, played.get(by)?))
        };
        let (Some((by, note)), Some((_, weak))) = (paired(index), paired(index + 1)) else {
            continue;
        };
        let Some((_, next)) = paired(index + 2) else { continue };
        let apart = |from: &PlayedNote, to: &PlayedNote| {
            i64::from(to.at.as_micros()) - i64::from(from.at.as_micros())
        };
        let is_left = same_string(own, note) != Some(false)
            && weak.is_weaker(note, WEAKER) == Some(true)
            && apart(weak, next) * 2 < apart(note, weak);
        let is_elsewhere =
            same_string(wanted, note) == Some(false) && same_string(own, note) == Some(true);
        if wanted.pitch != note.pitch
            && own.pitch == note.pitch
            && weak.pitch == note.pitch
            && (is_left || is_elsewhere)
        {
            pairing.part(index);
            pairing.replace(index + 1, by);
        }
    }
}

/// Where the note of an expected one is on another string, and one of its pitch that is nobody's
/// is near on its own, takes that: the other was a pitch that the converter mistook.
fn at_home(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    for (index, wanted) in notes.iter().enumerate() {
        let Some(by) = pairing.played(index) else { continue };
        let Some(note) = played.get(by) else { continue };
        if same_string(wanted, note) != Some(false) {
            continue;
        }
        let near = by.saturating_sub(LOOK_BACK)..played.len().min(by + LOOK_BACK);
        let home = near.into_iter().find(|&other_by| {
            played.get(other_by).is_some_and(|other| {
                let apart = other.at.as_micros().saturating_sub(note.at.as_micros());
                pairing.role(other_by) == Role::Extra
                    && matches!(other.onset, Onset::Struck | Onset::Corrected)
                    && other.pitch == wanted.pitch
                    && other.string == wanted.string
                    && apart.saturating_abs() <= ANNOUNCED
            })
        });
        if let Some(home) = home {
            pairing.replace(index, home);
        }
    }
}

/// What is certainly noise stands in no note's place: the first pitch of a stroke whose second is
/// a note, and a ghost of another string's note that happens to be an octave of a missing one.
fn noise(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    for (by, note) in played.iter().enumerate() {
        let Role::Note(index) = pairing.role(by) else { continue };
        let Some(wanted) = notes.get(index) else { continue };
        let in_place = is_right(wanted, note) && same_string(wanted, note) != Some(false);
        let mut near = played.iter().enumerate().skip(by + 1).take(LOOK_BACK);
        let next = near.find(|(_, other)| note.string.is_some() && other.string == note.string);
        let next = next.filter(|(_, next)| next.onset == Onset::Corrected && next.at == note.at);
        let set_right = match next.map(|(next_by, next)| (next_by, next, pairing.role(next_by))) {
            // Two notes that are wanted and were played in their places are no correction.
            Some((_, _, Role::Note(_))) => !in_place,
            Some((next_by, next, Role::Extra)) if is_right(wanted, next) => {
                pairing.replace(index, next_by);
                continue;
            }
            _ => false,
        };
        let around = played.iter().skip(by.saturating_sub(LOOK_BACK)).take(2 * LOOK_BACK);
        let ghost = is_mistaken(wanted, note)
            && around.filter(|other| other.string != note.string).any(|other| {
                let apart = other.at.as_micros().saturating_sub(note.at.as_micros());
                apart.saturating_abs() <= AROUND && note.is_weaker(other, FAINT) == Some(true)
            });
        if set_right || ghost {
            pairing.part(index);
        }
    }
}

fn once(notes: &[ExpectedNote], played: &[PlayedNote], pairing: &mut PairingMut<'_>) {
    let onset = |index: usize| notes.get(index).map(|note| note.onset);
    for by in 0..played.len() {
        let (Role::Note(index), Some(note)) = (pairing.role(by), played.get(by)) else {
            continue;
        };
        let first = (by.saturating_sub(LOOK_BACK)..by)
            .find(|&other| played.get(other).is_some_and(|before| note.is_begun_again(before)));
        match first.map(|first| (first, pairing.role(first))) {
            Some((first, Role::Extra)) => {
                pairing.replace(index, first);
            }
            // Two notes of one moment are a unison; else nobody repeats a note so soon.
            Some((_, Role::Note(other))) if onset(other) != onset(index) => pairing.part(index),
            _ => {}
        }
    }
}
