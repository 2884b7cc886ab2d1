//! Held notes.
//!
//! A note marked [`HELD`](Marks::HELD) should sound for its written length at the player's own
//! tempo. Measured is the share that it did: note-on to note-off (see [`super::sounding`]) over
//! written length · pace. Unit: per mille, never negative; it may be over 1,000. Notes that
//! start a trill are measured as [trills](super::trill), notes of a landing not at all.
//!
//! A note without a note-off is not measured: the attempt may be over before it. One that ended
//! after 1.5 s or later, and that no other note on its string cut off, may have died away by
//! itself; it is told apart.

use super::Material;
use super::sounding::sounded;
use crate::study::Marks;
use crate::units::lasting;

/// A held note, and how much of its written length it sounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// The expected note.
    pub note: usize,
    /// What it sounded, in per mille of its written length.
    pub per_mille: u16,
    /// It may have died away by itself.
    pub may_have_died_away: bool,
}

/// The held notes whose end was heard, in order. `pace` is the player's own, in microseconds a
/// quarter.
pub fn held<'a>(material: Material<'a>, pace: u32) -> impl Iterator<Item = Held> + use<'a> {
    material
        .right_notes()
        .filter(|(_, wanted, _)| {
            wanted.marks.has(Marks::HELD)
                && wanted.trill.is_none()
                && !wanted.marks.has(Marks::LANDING)
        })
        .filter_map(move |(note, wanted, _)| {
            let sounded = sounded(material, material.pairing.played(note)?)?;
            let per_mille = share(sounded.lasted.as_micros(), lasting(wanted.duration, pace))?;
            Some(Held { note, per_mille, may_have_died_away: sounded.may_have_died_away })
        })
}

/// A part of a whole in per mille, at most 60,000; `None` of nothing.
pub(super) fn share(part: i32, whole: i32) -> Option<u16> {
    let share = (i64::from(part.max(0)) * 1_000).checked_div(i64::from(whole.max(0)))?;
    Some(share.min(60_000) as u16)
}
