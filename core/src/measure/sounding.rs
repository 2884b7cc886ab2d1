//! How long a note sounded: what [`holding`](super::holding) and [`length`](super::length)
//! share.
//!
//! From its note-on to its note-off. Where the converter struck the same pitch on the same
//! string again for itself (an extra note at most 60 ms after the end), the sound went on, and
//! so it does under vibrato and slides; a bend that is an expected note ends it. A
//! note with no note-off has no length: the pickup did not say, or the attempt was over first.

use super::Material;
use crate::align::Role;
use crate::units::Offset;

/// A note that ends after this long may have died away by itself. Our default: plucked nylon
/// and steel strings sound longer, a converter's threshold often comes earlier.
pub const MAY_DIE_AWAY: Offset = Offset::from_millis(1_500);

/// The converter's second thoughts come within this time, in microseconds. Our default, the
/// same as for double triggers.
const AGAIN_WITHIN: i32 = 60_000;

/// A note that begins this near to the end of another on its string has ended it, in
/// microseconds. Our default.
const CUT_WITHIN: i32 = 30_000;

/// A note's sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounded {
    /// From its beginning to its end.
    pub lasted: Offset,
    /// It ended late enough to have died away, and nothing shows that it was ended.
    pub may_have_died_away: bool,
}

/// How long the played note `by` sounded; `None` where no end was heard.
pub fn sounded(material: Material<'_>, by: usize) -> Option<Sounded> {
    let note = material.played.get(by)?;
    let start = note.at.as_micros();
    let mut end = start.saturating_add(note.lasted?.as_micros());
    let mut cut = false;
    for (later, other) in material.played.iter().enumerate().skip(by + 1) {
        let at = other.at.as_micros();
        if at > end.saturating_add(AGAIN_WITHIN) {
            break;
        }
        if other.string != note.string {
            continue;
        }
        let is_expected = material.pairing.role(later) != Role::Extra;
        if other.is_bent() && is_expected {
            end = end.min(at);
        }
        if other.pitch == note.pitch && !other.is_bent() && !is_expected {
            end = end.max(at.saturating_add(other.lasted?.as_micros()));
            cut = false;
        } else if note.string.is_some() && (is_expected || !other.is_bent()) {
            cut |= at.abs_diff(end) <= CUT_WITHIN as u32;
        }
    }
    let lasted = Offset::from_micros(end.saturating_sub(start));
    Some(Sounded { lasted, may_have_died_away: lasted >= MAY_DIE_AWAY && !cut })
}
