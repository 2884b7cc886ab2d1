//! Slurred notes against plucked ones.
//!
//! The level of each slurred note less the median level of the plucked notes of its voice
//! (of all voices, where its own has fewer than three). Softer is negative. Unit: hundredths
//! of a decibel. Slurred notes that were not played right, or that came as bends and so without
//! a velocity, are not measured; without three plucked notes nothing is.

use super::Material;
use super::evenness::{VOICES, plucked};
use super::onsets::Numbers;
use super::statistics::{median, robust_deviation};
use crate::study::{Attack, Marks};
use crate::units::Level;

/// The fewest plucked notes to compare with. Our default.
pub const FEWEST_PLUCKED: usize = 3;

/// How the slurs compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slurs {
    /// How many slurred notes were measured.
    pub measured: u16,
    /// How many were weaker than the limit.
    pub weak: u16,
    /// The weakest: the expected note.
    pub weakest: usize,
    /// Its level against the plucked notes.
    pub weakest_level: Level,
    /// How many plucked notes they were compared with.
    pub plucked: u16,
    /// The median level of the slurred notes against the plucked notes.
    pub median: Level,
    /// The robust deviation of their levels from it.
    pub scatter: Level,
}

/// Measures the slurs; `below` is how far below the plucked notes a slur may be. `None`
/// where there is nothing to compare.
pub fn slurs(material: Material<'_>, below: Level) -> Option<Slurs> {
    let mut result: Option<Slurs> = None;
    let mut all = Numbers::new();
    for voice in 0..VOICES {
        let own = plucked(material, voice);
        let (Some(centre), count @ FEWEST_PLUCKED..) =
            (if own.1 < FEWEST_PLUCKED { plucked_in_all(material) } else { own })
        else {
            continue;
        };
        for (index, wanted, note) in material.right_notes() {
            if wanted.attack != Attack::Slurred || wanted.voice.min(VOICES - 1) != voice {
                continue;
            }
            let Some(level) = material.level(note) else { continue };
            let level = i32::from(level.hundredths()) - centre;
            let _ = all.push(level);
            let level = Level::from_hundredths(level as i16);
            let weak = u16::from(level.hundredths() < -below.hundredths());
            let so_far = result.get_or_insert(Slurs {
                measured: 0,
                weak: 0,
                weakest: index,
                weakest_level: level,
                plucked: 0,
                median: Level::ZERO,
                scatter: Level::ZERO,
            });
            so_far.measured += 1;
            so_far.weak += weak;
            so_far.plucked = so_far.plucked.max(count as u16);
            if level < so_far.weakest_level {
                so_far.weakest = index;
                so_far.weakest_level = level;
            }
        }
    }
    let mut slurs = result?;
    let centre = median(&mut all)?;
    slurs.median = Level::from_hundredths(centre as i16);
    slurs.scatter = Level::from_hundredths(robust_deviation(&mut all, centre) as i16);
    Some(slurs)
}

/// The first slurred note, and how many there are, if they were played but came without a
/// velocity, all of them: how loud they were was not heard.
pub fn not_heard(material: Material<'_>) -> Option<(usize, u16)> {
    let slurred =
        || material.right_notes().filter(|(_, wanted, _)| wanted.attack == Attack::Slurred);
    let (first, _, _) = slurred().next()?;
    slurred().all(|(_, _, note)| note.velocity.is_none()).then(|| (first, slurred().count() as u16))
}

/// The median level of the plucked notes of all voices, and how many there are.
pub(crate) fn plucked_in_all(material: Material<'_>) -> (Option<i32>, usize) {
    let mut levels: Numbers = material
        .right_notes()
        .filter(|(_, wanted, _)| {
            wanted.attack == Attack::Plucked && !wanted.marks.has(Marks::ACCENT)
        })
        .filter_map(|(_, _, note)| Some(material.level(note)?.hundredths().into()))
        .collect();
    let count = levels.len();
    (median(&mut levels), count)
}
