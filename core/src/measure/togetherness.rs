//! Whether the notes of a chord speak together.
//!
//! The spread of a chord is the time from its first to its last note, of those that were
//! played right; a chord needs two. Rolled chords are exempt, and the
//! [landing](super::landing) is a measure of its own. Unit: microseconds, never
//! negative. For orientation: chords of five real guitar takes (GuitarSet) spread over
//! 11.4 ms (median), 30.8 ms (95 %) and 51 ms (99 %).

use super::Material;
use super::order::Order;
use crate::study::Marks;
use crate::units::Offset;

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

/// Measures the chords; `limit` is how far one may spread.
pub fn togetherness(material: Material<'_>, order: &Order, limit: Offset) -> Togetherness {
    let mut result = Togetherness::default();
    for event in material.events() {
        let first_note = event.start;
        let notes = material.chunk.notes().get(event.clone()).unwrap_or(&[]);
        let exempt = |marks: Marks| marks.has(Marks::ROLLED) || marks.has(Marks::LANDING);
        if notes.iter().any(|wanted| exempt(wanted.marks)) {
            continue;
        }
        let times = event
            .filter(|&index| !order.involved.has(index))
            .filter_map(|index| material.right(index))
            .map(|note| note.at.as_micros());
        let (mut first, mut last, mut count) = (i32::MAX, i32::MIN, 0);
        for at in times {
            first = first.min(at);
            last = last.max(at);
            count += 1;
        }
        if count < 2 {
            continue;
        }
        let spread = Offset::from_micros(last.saturating_sub(first));
        result.chords += 1;
        result.spread += u16::from(spread > limit);
        if result.widest.is_none_or(|(_, widest)| spread > widest) {
            result.widest = Some((first_note, spread));
        }
    }
    result
}
