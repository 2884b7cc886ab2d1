//! Notes that changed places, as they were [classified](crate::classify): how many came after one
//! that they should have preceded. Unit: notes; 0 if nothing was played.

use super::{Material, NoteSet};
use crate::align::Class;
use crate::tolerance::Tolerances;

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
    for index in 0..material.chunk.notes().len() {
        match material.class(index) {
            Some(Class::Overtaken) => {
                order.swapped += 1;
                order.first = order.first.or(Some(index));
                order.involved.insert(index);
            }
            Some(Class::Overtaking) => order.involved.insert(index),
            _ => {}
        }
    }
    order
}
