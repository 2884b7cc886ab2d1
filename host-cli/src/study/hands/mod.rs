//! Whether hands can do what a study writes: reach, fingers, speed. Whoever types or imports a study is told; what is
//! judged does not depend on it.

mod left;
mod neck;
mod place;
mod right;
mod strain;

pub use neck::SCALE;
pub use place::{fret_of, nearest_places};
pub use strain::Strain;

use super::model::{LeftFinger, RightFinger, Study};
use super::prepare::{Guitar, Prepared};
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::units::{GuitarString, Ticks};
use neck::Neck;
use std::collections::BTreeSet;

/// A place where something is hard or impossible.
#[derive(Clone, Debug, PartialEq)]
pub struct Caution {
    /// The note of the chunk.
    pub note: usize,
    /// What it is.
    pub strain: Strain,
}

/// A finger on a fret.
#[derive(Clone, Copy, Debug)]
struct Pressed {
    finger: Option<LeftFinger>,
    fret: u8,
    /// It lies across the strings.
    barre: bool,
}

/// All cautions of a chunk of a study, in its order, for strings of so many millimetres.
pub fn cautions(study: &Study, chunk: &Prepared, scale: u16) -> Vec<Caution> {
    let neck = Neck::new(scale, study.capo.map_or(0, |capo| capo.value));
    let guitar = Guitar::of(study);
    let mut cautions = Vec::new();
    let mut before: Option<(Ticks, Vec<RightFinger>)> = None;
    let mut near = 0;
    for event in events(chunk) {
        let first = event.start;
        let onset = chunk.notes[first].onset;
        let mut add = |note: usize, strain: Strain| cautions.push(Caution { note, strain });
        let pressed = pressed_at(chunk, onset);
        left::together(&pressed, neck).into_iter().for_each(|strain| add(first, strain));
        let mut plucks = Vec::new();
        for note in event {
            let (written, hand) = (&chunk.notes[note], &chunk.hand[note]);
            if let Some(barre) = hand.barre {
                left::below(barre, &pressed).into_iter().for_each(|strain| add(note, strain));
            }
            if let (Some(shift), Some(finger), Some(fret)) = (hand.shift, hand.left, hand.fret) {
                left::position(shift, finger, fret)
                    .into_iter()
                    .for_each(|strain| add(note, strain));
            }
            slurs(chunk, note, neck).into_iter().for_each(|strain| add(note, strain));
            match hand.fret {
                Some(fret) if fret > 0 => near = fret,
                Some(_) => {}
                None => add(note, Strain::NoString(proposal(&guitar, chunk, written, near))),
            }
            if written.attack == Attack::Plucked {
                plucks.extend(hand.right);
            }
        }
        right::together(&plucks).into_iter().for_each(|strain| add(first, strain));
        let is_plucked = chunk.notes[first..].iter().take_while(|note| note.onset == onset);
        let is_plucked = { is_plucked }.any(|note| note.attack == Attack::Plucked);
        if is_plucked {
            if let Some((at, fingers)) = &before {
                let micros = chunk.tempo.lasting(onset.since(*at)).as_micros();
                let millis = f64::from(micros) / 1_000.0;
                let strain = right::again(fingers, &plucks, millis).or_else(|| right::rate(millis));
                strain.into_iter().for_each(|strain| add(first, strain));
            }
            before = Some((onset, plucks));
        }
    }
    told_once(cautions)
}

/// The same strain in the same words again and again is told where it first stands.
fn told_once(cautions: Vec<Caution>) -> Vec<Caution> {
    let mut told = BTreeSet::new();
    cautions.into_iter().filter(|caution| told.insert(caution.strain.in_words())).collect()
}

/// The notes that begin together, event by event.
fn events(chunk: &Prepared) -> Vec<std::ops::Range<usize>> {
    let mut events: Vec<std::ops::Range<usize>> = Vec::new();
    for (index, note) in chunk.notes.iter().enumerate() {
        match events.last_mut() {
            Some(event) if chunk.notes[event.start].onset == note.onset => event.end = index + 1,
            _ => events.push(index..index + 1),
        }
    }
    events
}

/// What fingers press then: notes that begin, and those that are to be held.
fn pressed_at(chunk: &Prepared, onset: Ticks) -> Vec<Pressed> {
    let presses = |note: &ExpectedNote| {
        let held = note.marks.has(Marks::HELD) && note.onset < onset;
        note.onset == onset || held && note.onset.plus(note.duration) > onset
    };
    let notes = chunk.notes.iter().zip(&chunk.hand).filter(|(note, _)| presses(note));
    let pressed = notes.filter_map(|(_, hand)| {
        let fret = hand.fret.filter(|fret| *fret > 0)?;
        Some(Pressed { finger: hand.left, fret, barre: hand.barre.is_some() })
    });
    pressed.collect()
}

/// Slurs and trills whose two frets one hand does not span.
fn slurs(chunk: &Prepared, note: usize, neck: Neck) -> Option<Strain> {
    let (written, hand) = (&chunk.notes[note], &chunk.hand[note]);
    let fret = hand.fret?;
    if let Some(other) = hand.trill_fret {
        return left::slur(fret, other, neck);
    }
    let comes_from = |index: &usize| chunk.notes[*index].string == written.string;
    let from = (0..note).rev().find(comes_from).filter(|_| written.attack == Attack::Slurred)?;
    left::slur(chunk.hand[from].fret?, fret, neck)
}

/// A string that is free, on which the pitch is nearest to where the hand is.
fn proposal(
    guitar: &Guitar,
    chunk: &Prepared,
    note: &ExpectedNote,
    near: u8,
) -> Option<(GuitarString, u8)> {
    let sounds = |other: &&ExpectedNote| {
        other.onset <= note.onset && other.onset.plus(other.duration) > note.onset
    };
    let taken: Vec<GuitarString> =
        chunk.notes.iter().filter(sounds).filter_map(|other| other.string).collect();
    place::nearest(guitar, &[note.pitch], &taken, near).first().copied().flatten()
}
