//! Notes that changed places.
//!
//! A note is out of order if it was played more than 22 ms after a note that it should have
//! preceded. Of two onsets 22 ms apart, listeners name the first one right in 75 % of cases
//! (an informal experiment of the Mazurka project); nearer ones are not called swapped.
//! Notes of one chord have no order.

use crate::align::{Class, Classified, Material, PairingMut, Sureness};
use crate::attempt::PlayedNote;
use crate::pickup::Pickup;
use crate::study::Chunk;

/// Microseconds by which a note must be late to count as out of order.
const NOTICEABLE: i32 = 22_000;

/// Marks the right notes that came after one that they should have preceded, and those that they
/// came after.
pub(super) fn mark(
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pickup: &Pickup,
    pairing: &mut PairingMut<'_>,
) {
    // The note of the events before that came last, and the same with those of this event.
    let mut latest: Option<(i32, usize)> = None;
    let mut latest_here = None;
    let mut onset = None;
    for (index, wanted) in chunk.notes().iter().enumerate() {
        if onset.replace(wanted.onset) != Some(wanted.onset) {
            latest = latest_here;
        }
        let Some(note) = (Material { chunk, played, pairing: pairing.view(), pickup }).right(index)
        else {
            continue;
        };
        let Some(by) = pairing.played(index) else { continue };
        let at = note.at.as_micros();
        if let Some((before, late)) = latest
            && before.saturating_sub(at) > NOTICEABLE
        {
            mark_one(pairing, late, Class::Overtaken);
            mark_one(pairing, by, Class::Overtaking);
        }
        if latest_here.is_none_or(|(t, _)| at > t) {
            latest_here = Some((at, by));
        }
    }
}

/// A note keeps the first mark that it gets.
fn mark_one(pairing: &mut PairingMut<'_>, by: usize, class: Class) {
    if pairing.class(by) == Class::Right {
        pairing.classify(by, Classified { class, sureness: Sureness::Certain });
    }
}
