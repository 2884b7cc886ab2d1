//! The same music twice: a staff and its tablature. And what strings and frets say of pitches.

use super::model::{Frets, Note, Part, Slur};
use super::time::Quarters;
use std::collections::HashMap;

/// Standard tuning, low to high: E2 A2 D3 G3 B3 E4.
const STANDARD: [u8; 6] = [40, 45, 50, 55, 59, 64];

/// So many of a hundred notes must be the same for one to double the other. Our default: typing slips once or twice.
const SAME: usize = 90;

/// What a string sounds at a fret.
pub(super) fn fretted(frets: &Frets, string: u8, fret: u8) -> Option<u8> {
    let open = if frets.open.is_empty() { &STANDARD[..] } else { &frets.open };
    let from_top = usize::from(string.checked_sub(1)?);
    let open = open.iter().rev().nth(from_top)?;
    open.checked_add(frets.capo)?.checked_add(fret).filter(|pitch| *pitch < 128)
}

/// A part with what it has twice joined: notes of its tablature staves, and of another part that is the same music in
/// tablature, give their strings and fingers to the notes that they double. None if the other part is other music.
pub fn merged(part: &Part, tablature: Option<&Part>) -> Option<Part> {
    let mut merged = part.clone();
    let doubles: Vec<Note> = match tablature {
        Some(other) => {
            if other.notes.iter().all(|note| note.string.is_none()) {
                return None;
            }
            if merged.frets.open.is_empty() {
                merged.frets = other.frets.clone();
            }
            other.notes.clone()
        }
        None => {
            let is_tab = |note: &Note| part.tablature.contains(&note.staff);
            if part.notes.iter().all(is_tab) {
                Vec::new()
            } else {
                merged.notes.retain(|note| !is_tab(note));
                part.notes.iter().filter(|note| is_tab(note)).cloned().collect()
            }
        }
    };
    let total = doubles.len();
    let left = give(&mut merged.notes, doubles);
    let same = total - left.len();
    if same * 100 < total * SAME {
        if tablature.is_some() {
            return None;
        }
        // Two staves of different music: all of it is played.
        return Some(as_fretted(part.clone()));
    }
    for note in left {
        merged.remarks.add("notes that stand in the tablature alone (taken, too)", note.bar);
        merged.notes.push(note);
    }
    merged.notes.sort_by_key(|note| note.onset);
    Some(as_fretted(merged))
}

/// Gives what doubles say to the notes that they double; what is left doubles none.
fn give(notes: &mut [Note], doubles: Vec<Note>) -> Vec<Note> {
    let mut at: HashMap<Quarters, Vec<usize>> = HashMap::new();
    for (index, note) in notes.iter().enumerate() {
        at.entry(note.onset).or_default().push(index);
    }
    let mut left = Vec::new();
    for double in doubles {
        let here = at.entry(double.onset).or_default();
        let octaves = |index: &usize| {
            let apart = i16::from(notes[*index].sounding) - i16::from(double.sounding);
            (apart % 12 == 0).then_some(apart.unsigned_abs())
        };
        let best = (0..here.len())
            .filter_map(|place| Some((octaves(&here[place])?, place)))
            .min_by_key(|(apart, _)| *apart);
        match best {
            Some((_, place)) => take(&mut notes[here.swap_remove(place)], &double),
            None => left.push(double),
        }
    }
    left
}

fn take(note: &mut Note, double: &Note) {
    if double.string.is_some() {
        (note.string, note.fret) = (double.string, double.fret);
        note.sounding = double.sounding;
    }
    note.left = note.left.or(double.left);
    note.right = note.right.or(double.right);
    note.barre = note.barre.or(double.barre);
    note.shift = note.shift.or(double.shift);
    note.trill = note.trill.or(double.trill);
    if note.slur == Slur::None || double.slur == Slur::Named {
        note.slur = double.slur;
    }
    note.rolled |= double.rolled;
    note.accent |= double.accent;
    note.short |= double.short;
    note.hold |= double.hold;
}

/// Lets strings and frets say how high it sounds. Where all of them differ from the note heads by the same, the note
/// heads are written in another octave, or without the capo; where single ones differ, the note head goes before.
fn as_fretted(mut part: Part) -> Part {
    let differs = |note: &Note| -> Option<i16> {
        let pitch = fretted(&part.frets, note.string?, note.fret?)?;
        Some(i16::from(pitch) - i16::from(note.sounding))
    };
    let mut counts: HashMap<i16, usize> = HashMap::new();
    for apart in part.notes.iter().filter_map(differs) {
        *counts.entry(apart).or_default() += 1;
    }
    let total: usize = counts.values().sum();
    let usual = counts.into_iter().max_by_key(|(apart, many)| (*many, -apart.abs(), *apart));
    let by = usual.filter(|(_, many)| many * 100 >= total * SAME).map_or(0, |(apart, _)| apart);
    if by != 0 {
        let raised = |pitch: u8| u8::try_from(i16::from(pitch) + by).ok().filter(|p| *p < 128);
        for note in &mut part.notes {
            note.sounding = raised(note.sounding).unwrap_or(note.sounding);
            note.trill = note.trill.and_then(raised);
        }
        let way = if by > 0 { "higher" } else { "lower" };
        let what = format!(
            "note heads that sound {} half steps {way}, as strings and frets say",
            by.abs()
        );
        part.remarks.add(what, 0);
    }
    let frets = part.frets.clone();
    for note in &mut part.notes {
        let (Some(string), Some(fret)) = (note.string, note.fret) else {
            if note.string.is_none() {
                note.fret = None;
            }
            continue;
        };
        if fretted(&frets, string, fret) != Some(note.sounding) {
            part.remarks.add(
                "strings and frets of another pitch than the note (the note was taken)",
                note.bar,
            );
            (note.string, note.fret) = (None, None);
        }
    }
    part
}
