//! Notes that changed places.
//!
//! A note is out of order if it was played more than 22 ms after a note that it should have
//! preceded. Of two onsets 22 ms apart, listeners name the first one right in 75 % of cases
//! (an informal experiment of the Mazurka project); nearer ones are not called swapped.
//! Notes of one chord have no order. Unit: notes; 0 if nothing was played.

use super::{Material, NoteSet};
use crate::tolerance::Tolerances;

/// Microseconds by which a note must be late to count as out of order.
const NOTICEABLE: i32 = 22_000;

/// Which notes changed places.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Order {
    /// How many notes came after one that they should have preceded.
    pub swapped: u16,
    /// The first of them.
    pub first: Option<usize>,
    /// All notes that take part in a swap, on either side: their times say nothing about
    /// steadiness.
    pub involved: NoteSet,
}

impl Order {
    /// The notes whose change of places is told as a slip. Where slips are allowed it is not, and
    /// nothing else would tell of a chord's note that came after the next.
    pub fn told(&self, tolerances: &Tolerances) -> NoteSet {
        if tolerances.notes_a_slip == 0 { self.involved } else { NoteSet::NONE }
    }
}

/// Finds the notes that changed places.
pub fn order(material: Material<'_>) -> Order {
    let mut order = Order::default();
    let mut latest: Option<(i32, usize)> = None;
    for event in material.events() {
        let mut latest_here = latest;
        for index in event {
            let Some(note) = material.right(index) else {
                continue;
            };
            let at = note.at.as_micros();
            if let Some((before, late)) = latest
                && before.saturating_sub(at) > NOTICEABLE
            {
                if !order.involved.has(late) {
                    order.swapped += 1;
                    order.first = order.first.or(Some(late));
                }
                order.involved.insert(late);
                order.involved.insert(index);
            }
            if latest_here.is_none_or(|(t, _)| at > t) {
                latest_here = Some((at, index));
            }
        }
        latest = latest_here;
    }
    order
}
