//! On which string and at which fret, where a score does not say.

use super::tell;
use crate::score::{Frets, Note, Remarks, Slur};
use crate::study::{self, PitchName, Study};
use evenhand_core::units::{GuitarString, Pitch};
use std::collections::{BTreeSet, HashMap};

/// As many frets are between the two notes of a slur at most. Our default: what a hand spans.
const SLUR_FRETS: u8 = 4;

/// The instrument as a study writes it.
pub(super) fn instrument(frets: &Frets, remarks: &mut Remarks) -> Study {
    let mut study = Study::default();
    if (4..=8).contains(&frets.open.len()) {
        let names: Option<Vec<PitchName>> =
            frets.open.iter().map(|open| Pitch::new(*open).map(PitchName::of)).collect();
        let standard: Vec<u8> = vec![40, 45, 50, 55, 59, 64];
        study.tuning = names.filter(|_| frets.open != standard).map(Into::into);
    } else if !frets.open.is_empty() {
        tell(
            remarks,
            "an instrument of fewer than four or more than eight strings (standard tuning was taken)",
            0,
        );
    }
    if (1..=12).contains(&frets.capo) {
        study.capo = Some(frets.capo.into());
    } else if frets.capo > 12 {
        tell(remarks, "a capo above the twelfth fret", 0);
    }
    study
}

/// Puts notes without a string on one, and gives how many, and the bars in which it did. A string that sounds is not taken where
/// another is free.
pub(super) fn on_strings(notes: &mut [Note], guitar: &Study) -> (usize, BTreeSet<usize>) {
    let without = |notes: &[Note]| notes.iter().filter(|note| note.string.is_none()).count();
    let before = without(notes);
    let mut placed = BTreeSet::new();
    let mut near = 0;
    // The last note of each voice that has a string, for slurs.
    let mut last: HashMap<String, (u8, u8)> = HashMap::new();
    let mut from = 0;
    while from < notes.len() {
        let onset = notes[from].onset;
        let to = notes[from..].iter().position(|note| note.onset != onset);
        let to = to.map_or(notes.len(), |more| from + more);
        let sounding = sounding(&notes[..from], onset);
        let mut taken: BTreeSet<u8> =
            notes[from..to].iter().filter_map(|note| note.string).collect();
        slurred(&mut notes[from..to], &last, guitar, &mut taken, &mut placed);
        let open: Vec<usize> = (from..to).filter(|at| notes[*at].string.is_none()).collect();
        if !open.is_empty() {
            let pitches: Vec<Pitch> =
                open.iter().filter_map(|at| Pitch::new(notes[*at].sounding)).collect();
            let strings = |used: BTreeSet<u8>| -> Vec<GuitarString> {
                used.into_iter().filter_map(GuitarString::new).collect()
            };
            let free = strings(taken.union(&sounding).copied().collect());
            let mut places = study::nearest_places(guitar, &pitches, &free, near);
            if places.iter().any(Option::is_none) {
                // Rather cut what sounds than leave a note without a place.
                places = study::nearest_places(guitar, &pitches, &strings(taken), near);
            }
            for (at, place) in open.iter().zip(places) {
                if let Some((string, fret)) = place {
                    (notes[*at].string, notes[*at].fret) = (Some(string.number()), Some(fret));
                    placed.insert(notes[*at].bar);
                }
            }
        }
        let pressed = notes[from..to].iter().filter_map(|note| note.fret).filter(|fret| *fret > 0);
        near = pressed.min().unwrap_or(near);
        for note in &notes[from..to] {
            if let (Some(string), Some(fret)) = (note.string, note.fret) {
                last.insert(note.voice.clone(), (string, fret));
            }
        }
        from = to;
    }
    (before - without(notes), placed)
}

/// The strings on which something sounds then. What began long ago is of no matter to a first guess.
fn sounding(before: &[Note], onset: crate::score::Quarters) -> BTreeSet<u8> {
    let still = |note: &&Note| note.onset.plus(note.length).is_some_and(|end| end > onset);
    before.iter().rev().take(64).filter(still).filter_map(|note| note.string).collect()
}

/// A slurred note belongs on the string of the note before it.
fn slurred(
    notes: &mut [Note],
    last: &HashMap<String, (u8, u8)>,
    guitar: &Study,
    taken: &mut BTreeSet<u8>,
    placed: &mut BTreeSet<usize>,
) {
    for note in notes.iter_mut().filter(|note| note.slur != Slur::None && note.string.is_none()) {
        let Some((string, before)) = last.get(&note.voice) else { continue };
        let place = GuitarString::new(*string).zip(Pitch::new(note.sounding));
        let fret = place.and_then(|(string, pitch)| study::fret_of(guitar, string, pitch));
        let near =
            fret.filter(|fret| *before == 0 || *fret == 0 || fret.abs_diff(*before) <= SLUR_FRETS);
        if let Some(fret) = near.filter(|_| !taken.contains(string)) {
            (note.string, note.fret) = (Some(*string), Some(fret));
            taken.insert(*string);
            placed.insert(note.bar);
        }
    }
}
