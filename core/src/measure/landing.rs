//! The arrival on what comes next: the notes marked [`LANDING`](Marks::LANDING).
//!
//! It is judged when at least one of its notes was played right, and else not at all: whoever
//! stops at the end of the chunk has not missed a landing.
//!
//! * *Slips*: its notes that were wrong or did not come. Unit: notes.
//! * *Time lost*: its onset (the median of its right notes) less when it was due: the last event
//!   before it, less that event's own distance from the player's tempo, plus the written
//!   interval at that tempo. Late is positive, too soon negative. Unit: microseconds. Not for
//!   rolled chords; needs the player's own tempo.
//! * *Spread*: first to last of its right notes, if there are two; not for rolled chords. Unit:
//!   microseconds, never negative.

use super::Material;
use super::statistics::median;
use super::tempo::lasting;
use super::timing::Timing;
use crate::condition::is_mistracked;
use crate::limits::NOTES_TOGETHER;
use crate::study::{ExpectedNote, Marks};
use crate::units::Offset;
use core::ops::Range;
use heapless::Vec;

/// How the landing was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Landing {
    /// Its first expected note.
    pub note: usize,
    /// How many of its notes were wrong or missing, and the first of them.
    pub slips: (u16, Option<usize>),
    /// First to last right note.
    pub spread: Option<Offset>,
    /// When it came; `None` for a rolled chord.
    pub at: Option<Offset>,
}

/// The landing, if one of its notes was played right.
pub fn landing(material: Material<'_>) -> Option<Landing> {
    let event = event(material)?;
    let notes = material.chunk.notes().get(event.clone())?;
    let mut times: Vec<i32, NOTES_TOGETHER> = Vec::new();
    let mut slips = (0, None);
    for index in event.clone() {
        match material.right(index) {
            Some(note) => {
                let _ = times.push(note.at.as_micros());
            }
            // An octave off on its own string may be the converter's doing.
            None if is_mistaken(material, index) => {}
            None => {
                slips.0 += 1;
                slips.1 = slips.1.or(Some(index));
            }
        }
    }
    let first = times.iter().copied().min()?;
    let last = times.iter().copied().max()?;
    let rolled = notes.iter().any(|note| note.marks.has(Marks::ROLLED));
    let is_chord = times.len() >= 2 && !rolled;
    Some(Landing {
        note: event.start,
        slips,
        spread: is_chord.then(|| Offset::from_micros(last.saturating_sub(first))),
        at: median(&mut times).filter(|_| !rolled).map(Offset::from_micros),
    })
}

/// Whether the converter may have mistaken the note that stands in place of note `index`.
fn is_mistaken(material: Material<'_>, index: usize) -> bool {
    let played = material.pairing.played(index).and_then(|by| material.played.get(by));
    let wanted = material.chunk.notes().get(index);
    wanted.zip(played).is_some_and(|(wanted, played)| is_mistracked(wanted, played))
}

/// Time lost before the landing, and the written interval before it at the player's own tempo.
pub fn time_lost(
    material: Material<'_>,
    landing: &Landing,
    timing: &Timing,
) -> Option<(Offset, Offset)> {
    let pace = timing.tempo.as_ref()?.pace;
    let written = material.chunk.notes().get(landing.note)?.onset;
    let before = timing.points.iter().rposition(|point| point.written < written)?;
    let (last, off) = (timing.points.get(before)?, *timing.residuals.get(before)?);
    let interval = lasting(written.since(last.written), pace);
    let due = last.played.as_micros().saturating_sub(off).saturating_add(interval);
    let lost = landing.at?.as_micros().saturating_sub(due);
    Some((Offset::from_micros(lost), Offset::from_micros(interval)))
}

/// The expected notes of the landing: the last ones of the chunk, which begin together.
fn event(material: Material<'_>) -> Option<Range<usize>> {
    let is_landing = |note: &ExpectedNote| note.marks.has(Marks::LANDING);
    let notes = material.chunk.notes();
    let start = notes.iter().position(is_landing)?;
    let onset = notes.get(start)?.onset;
    let count = notes
        .iter()
        .skip(start)
        .take_while(|note| is_landing(note) && note.onset == onset)
        .take(NOTES_TOGETHER)
        .count();
    Some(start..start + count)
}
