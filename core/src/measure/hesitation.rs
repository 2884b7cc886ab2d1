//! Time lost before a note, or cut short.
//!
//! Each [break](super::onsets::Break) of the player's own tempo: the interval was longer than
//! the tempo explains, and the next did not make up for it. Positive is time lost, negative
//! an entry that came too soon. Unit: microseconds. Told with the note after it and with the
//! written interval at the tempo played, which its limit depends on.

use super::Material;
use super::timing::Timing;
use crate::study::Marks;
use crate::tolerance::TimeLimit;
use crate::units::{Offset, lasting};

/// An interval that was too long or too short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hesitation {
    /// The expected note after the interval.
    pub note: usize,
    /// How much too long; too short is negative.
    pub lost: Offset,
    /// What the limit allows there.
    pub limit: Offset,
    /// Whether a shift of the left hand is marked there.
    pub at_shift: bool,
}

/// The hesitations beyond `limit`, in order of the music.
pub fn hesitations<'a>(
    material: Material<'a>,
    timing: &'a Timing,
    limit: TimeLimit,
) -> impl Iterator<Item = Hesitation> + use<'a> {
    let tempo = timing.tempo.as_ref();
    tempo.into_iter().flat_map(move |tempo| {
        tempo.breaks.iter().filter_map(move |b| {
            let before = timing.points.get(b.point.checked_sub(1)?)?;
            let after = timing.points.get(b.point)?;
            let written = lasting(after.written.since(before.written), tempo.pace);
            let limit = limit.at(Offset::from_micros(written));
            let note = usize::from(after.note);
            let at_shift = material
                .chunk
                .notes()
                .iter()
                .skip(note)
                .take_while(|wanted| wanted.onset == after.written)
                .any(|wanted| wanted.marks.has(Marks::SHIFT));
            (b.excess.size() > limit).then_some(Hesitation {
                note,
                lost: b.excess,
                limit,
                at_shift,
            })
        })
    })
}
