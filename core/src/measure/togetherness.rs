//! Whether the notes of a chord speak together.
//!
//! The spread of a chord is the time from its first to its last note, of those that were
//! played right; a chord needs two. A note that came so late that the alignment calls it missing
//! and extra is one of them, if it came within a second. Notes that changed places with another
//! are left out where that is told as a slip. Rolled chords are exempt, and the
//! [landing](super::landing) is a measure of its own. Unit: microseconds, never
//! negative. For orientation: chords of five real guitar takes (GuitarSet) spread over
//! 11.4 ms (median), 30.8 ms (95 %) and 51 ms (99 %).

use super::{Material, NoteSet};
use crate::align::Role;
use crate::attempt::PlayedNote;
use crate::study::Marks;
use crate::units::Offset;
use core::ops::Range;

/// How the chords spread.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Togetherness {
    /// How many chords were measured.
    pub chords: u16,
    /// How many spread over more than the limit.
    pub spread: u16,
    /// The widest: its first expected note and its spread.
    pub widest: Option<(usize, Offset)>,
}

/// A note of its chord's own pitch that comes later than this is another note. Our default.
const LATEST: i32 = 1_000_000;

/// Measures the chords; `limit` is how far one may spread. Notes in `swapped` are left out.
pub fn togetherness(material: Material<'_>, swapped: &NoteSet, limit: Offset) -> Togetherness {
    let mut result = Togetherness::default();
    for event in material.events() {
        let first_note = event.start;
        let Some(spread) = spread(material, event, swapped) else { continue };
        result.chords += 1;
        result.spread += u16::from(spread > limit);
        if result.widest.is_none_or(|(_, widest)| spread > widest) {
            result.widest = Some((first_note, spread));
        }
    }
    result
}

/// Whether a hand sweeps this chord: it plucks four strings at once, five with the little finger at
/// most. Our default.
pub(crate) fn is_swept(_material: Material<'_>, event: &Range<usize>) -> bool {
    event.len() >= SWEPT
}

/// A chord of so many notes is swept.
const SWEPT: usize = 5;

/// How far the chord of the expected notes `event` spread; `None` where it is none, or exempt.
pub fn spread(material: Material<'_>, event: Range<usize>, swapped: &NoteSet) -> Option<Offset> {
    let notes = material.chunk.notes().get(event.clone())?;
    let exempt = |marks: Marks| marks.has(Marks::ROLLED) || marks.has(Marks::LANDING);
    if notes.iter().any(|wanted| exempt(wanted.marks)) {
        return None;
    }
    let times = event
        .clone()
        .filter(|&index| !swapped.has(index))
        .filter_map(|index| Some(material.struck_at(index, material.right(index)?).as_micros()));
    let (mut first, mut last, mut count) = (i32::MAX, i32::MIN, 0);
    for at in times {
        first = first.min(at);
        last = last.max(at);
        count += 1;
    }
    if count > 0 && count < event.len() {
        for at in event.filter_map(|index| late_note(material, index, first)) {
            last = last.max(at);
            count += 1;
        }
    }
    (count >= 2).then(|| Offset::from_micros(last.saturating_sub(first)))
}

/// When the missing note `index` came after all, too late to be paired, if it did after `first`.
fn late_note(material: Material<'_>, index: usize, first: i32) -> Option<i32> {
    if material.pairing.played(index).is_some() {
        return None;
    }
    let wanted = material.chunk.notes().get(index)?;
    let mut extras = material.played.iter().enumerate().filter(|(by, note)| {
        material.pairing.role(*by) == Role::Extra && note.is_struck() && note.pitch == wanted.pitch
    });
    let at = |note: &PlayedNote| material.struck_at(index, note).as_micros();
    let late = extras.find(|(_, note)| (0..=LATEST).contains(&at(note).saturating_sub(first)));
    late.map(|(_, note)| at(note))
}
