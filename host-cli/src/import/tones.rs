//! The notes as they are played, in ticks, and what one guitar and the judge can take of them.

use super::bars::{self, StudyBar};
use super::tell;
use crate::score::{Note, Part, Remarks};
use evenhand_core::limits::NOTES_TOGETHER;
use evenhand_core::units::{GuitarString, Ticks};
use std::collections::BTreeMap;

/// A note as it is played.
#[derive(Clone, Debug)]
pub(super) struct Tone {
    pub(super) onset: Ticks,
    pub(super) end: Ticks,
    /// The note of the score that it is.
    pub(super) note: Note,
    pub(super) place: Option<(GuitarString, u8)>,
}

/// A written note with its place on the neck.
pub(super) fn place(note: &Note) -> Option<(GuitarString, u8)> {
    Some((GuitarString::new(note.string?)?, note.fret?))
}

/// All notes, bar by bar as they are played.
pub(super) fn tones(
    notes: &[Note],
    part: &Part,
    played: &[StudyBar],
    remarks: &mut Remarks,
) -> Vec<Tone> {
    let mut of_bar: BTreeMap<usize, Vec<&Note>> = BTreeMap::new();
    for note in notes {
        of_bar.entry(note.bar).or_default().push(note);
    }
    let last = played.last().map_or(Ticks::ZERO, StudyBar::end);
    let mut tones = Vec::new();
    for (written, start) in played.iter().flat_map(|bar| &bar.written) {
        let Some(bar) = part.bars.get(*written) else { continue };
        for note in of_bar.get(written).into_iter().flatten() {
            let (into, exact) = bars::into_bar(note.onset, bar);
            let end = note.onset.plus(note.length).unwrap_or(note.onset);
            let (until, ends_exact) = bars::into_bar(end, bar);
            if !exact || !ends_exact {
                tell(
                    remarks,
                    "lengths that are no whole number of ticks (the nearest was taken)",
                    *written,
                );
            }
            let onset = start.plus(into);
            let end = start.plus(until).min(last);
            if end > onset {
                tones.push(Tone { onset, end, note: (*note).clone(), place: place(note) });
            } else {
                tell(remarks, "notes too short to be written (not judged)", *written);
            }
        }
    }
    tones.sort_by_key(|tone| (tone.onset, tone.note.sounding));
    tones
}

/// Leaves nothing that no guitar can sound: one note on a string, and no more at once than the judge takes.
pub(super) fn settle(tones: &mut Vec<Tone>, remarks: &mut Remarks) {
    few_together(tones, remarks);
    one_a_string(tones, remarks);
    // The same pitch twice, on no string, is one note.
    let mut kept: Vec<Tone> = Vec::with_capacity(tones.len());
    for tone in tones.drain(..) {
        let same = |other: &&mut Tone| {
            other.onset == tone.onset
                && other.note.sounding == tone.note.sounding
                && other.place == tone.place
        };
        match kept.iter_mut().rev().take(2 * NOTES_TOGETHER).find(same) {
            Some(other) => {
                other.end = other.end.max(tone.end);
                other.note.left = other.note.left.or(tone.note.left);
                other.note.right = other.note.right.or(tone.note.right);
                other.note.accent |= tone.note.accent;
            }
            None => kept.push(tone),
        }
    }
    *tones = kept;
}

fn few_together(tones: &mut Vec<Tone>, remarks: &mut Remarks) {
    let mut counts: BTreeMap<Ticks, usize> = BTreeMap::new();
    tones.retain(|tone| {
        let count = counts.entry(tone.onset).or_default();
        *count += 1;
        if *count > NOTES_TOGETHER {
            tell(
                remarks,
                "more than eight notes at once (the highest are left out)",
                tone.note.bar,
            );
        }
        *count <= NOTES_TOGETHER
    });
}

fn one_a_string(tones: &mut [Tone], remarks: &mut Remarks) {
    let mut on_string: BTreeMap<GuitarString, Vec<usize>> = BTreeMap::new();
    for index in 0..tones.len() {
        let Some((string, _)) = tones[index].place else { continue };
        let sounding = on_string.entry(string).or_default();
        let (onset, pitch) = (tones[index].onset, tones[index].note.sounding);
        sounding.retain(|before| tones[*before].end > onset);
        let at_once = |before: &&usize| {
            tones[**before].onset == onset && tones[**before].note.sounding != pitch
        };
        if sounding.iter().any(|before| at_once(&before)) {
            tones[index].place = None;
            tell(
                remarks,
                "two notes at once on one string (one is written as a pitch)",
                tones[index].note.bar,
            );
            continue;
        }
        for before in sounding.iter() {
            if tones[*before].note.sounding != pitch {
                tones[*before].end = onset;
                tell(
                    remarks,
                    "notes whose string is needed again (they end there)",
                    tones[*before].note.bar,
                );
            }
        }
        sounding.retain(|before| tones[*before].end > onset);
        sounding.push(index);
    }
}
