//! How loud each note was against what it is compared with.
//!
//! * A plucked note of a voice with at least [`FEWEST_IN_A_GROUP`] such notes: its level less the
//!   median of them. Its limit is the one for single notes.
//! * A plucked note of a smaller voice, a bass note or two: its level less the median of the plucked
//!   notes around it, of whatever voice, the nearest four on either side. Voices are rarely equally
//!   loud, so its limit is half as much again (our default).
//! * A slurred note: its level less the median of the plucked notes of its voice, or of all where
//!   its own has fewer than three. Above, its limit is the one for single notes; below, the one for
//!   slurs.
//!
//! Louder is positive. Unit: hundredths of a decibel. Accented notes have no limit here (see
//! [`accents`](super::accents)). Notes whose velocity was not heard are left out, and those with
//! fewer than three to be compared with.

use super::Material;
use super::evenness::{FEWEST_IN_A_GROUP, VOICES, plucked};
use super::slurs::{FEWEST_PLUCKED, plucked_in_all};
use super::statistics::median;
use crate::study::{Attack, ExpectedNote, Marks};
use crate::tolerance::Tolerances;
use crate::units::Level;
use heapless::Vec;

/// No difference between two velocities is so large.
const NO_LIMIT: i32 = 30_000;

/// Neighbours on one side, at most.
const ON_A_SIDE: usize = 4;

/// A note and what it was compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SingleLevel {
    /// The expected note.
    pub note: usize,
    /// How much louder; softer is negative.
    pub by: Level,
    /// How far it may be, either way.
    pub limit: Level,
    /// Whether it was compared with the group of its own voice, which
    /// [`evenness`](super::evenness) judges, or as a slur with plucked notes, which
    /// [`slurs`](super::slurs) judges.
    pub has_rule: bool,
}

impl SingleLevel {
    /// Whether it is over its limit.
    pub fn is_over(&self) -> bool {
        self.by.hundredths().unsigned_abs() > self.limit.hundredths().unsigned_abs()
    }
}

/// Calls `tell` for each note that can be compared with something.
// Not inlined: its scratch numbers leave the stack when it is done.
#[inline(never)]
pub fn single_levels(
    material: Material<'_>,
    tolerances: &Tolerances,
    mut tell: impl FnMut(SingleLevel),
) {
    let single = i32::from(tolerances.single_level.hundredths());
    let slur = i32::from(tolerances.slur_below.hundredths());
    for voice in 0..VOICES {
        let (own, count) = plucked(material, voice);
        let compared = if count < FEWEST_PLUCKED { plucked_in_all(material) } else { (own, count) };
        let slurred_against = compared.0.filter(|_| compared.1 >= FEWEST_PLUCKED);
        for (note, wanted, played) in material.right_notes() {
            if wanted.voice.min(VOICES - 1) != voice {
                continue;
            }
            let Some(level) = material.level(played).map(|level| i32::from(level.hundredths()))
            else {
                continue;
            };
            let compared = match wanted.attack {
                Attack::Plucked if count >= FEWEST_IN_A_GROUP => {
                    own.map(|centre| (level - centre, single, true))
                }
                Attack::Plucked => {
                    around(material, note).map(|centre| (level - centre, single * 3 / 2, false))
                }
                Attack::Slurred => slurred_against.map(|centre| {
                    let by = level - centre;
                    if by < 0 { (by, slur, true) } else { (by, single, false) }
                }),
            };
            if let Some((by, limit, has_rule)) = compared {
                let limit = if wanted.marks.has(Marks::ACCENT) { NO_LIMIT } else { limit };
                let [by, limit] = [by, limit].map(|hundredths| {
                    Level::from_hundredths(hundredths.clamp(-NO_LIMIT, NO_LIMIT) as i16)
                });
                tell(SingleLevel { note, by, limit, has_rule });
            }
        }
    }
}

/// The median level of the plucked notes around note `index`.
fn around(material: Material<'_>, index: usize) -> Option<i32> {
    let notes = material.chunk.notes();
    let is_plucked = |wanted: &&ExpectedNote| {
        wanted.attack == Attack::Plucked && !wanted.marks.has(Marks::ACCENT)
    };
    let level = |other: usize| -> Option<i32> {
        notes.get(other).filter(is_plucked)?;
        Some(material.level(material.right(other)?)?.hundredths().into())
    };
    let mut levels: Vec<i32, { 2 * ON_A_SIDE }> = Vec::new();
    levels.extend((0..index).rev().filter_map(level).take(ON_A_SIDE));
    levels.extend((index + 1..notes.len()).filter_map(level).take(ON_A_SIDE));
    if levels.len() < FEWEST_PLUCKED { None } else { median(&mut levels) }
}
