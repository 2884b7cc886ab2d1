//! Accents against their neighbours.
//!
//! The level of each plucked note marked [`ACCENT`](Marks::ACCENT) less the median level of the
//! unaccented plucked notes of its voice next to it: the nearest eight, at most four on either
//! side. Louder is positive. Unit: hundredths of a decibel. Without three such neighbours it is
//! not measured; notes of a landing are not. The numbers of notes are our defaults: about two
//! beats, so that a passage that grows louder is compared with itself. Notes whose velocity was not
//! heard are left out.

use super::Material;
use super::evenness::{VOICES, in_group};
use super::slurs::FEWEST_PLUCKED;
use super::statistics::median;
use crate::study::{Attack, Marks};
use crate::units::Level;
use heapless::Vec;

/// Neighbours on one side, at most.
const ON_A_SIDE: usize = 4;

/// How the accents stand out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accents {
    /// How many were measured.
    pub measured: u16,
    /// How many stand out by less than the limit.
    pub weak: u16,
    /// The weakest.
    pub weakest: usize,
    /// Its level above its neighbours.
    pub weakest_level: Level,
    /// The mean level of all of them above their neighbours.
    pub mean: Level,
    /// With how many neighbours the one with the fewest was compared.
    pub neighbours: u16,
}

/// Measures the accents; `above` is by how much each should stand out. `None` where there is
/// none to measure.
pub fn accents(material: Material<'_>, above: Level) -> Option<Accents> {
    let mut result: Option<Accents> = None;
    let mut sum = 0_i32;
    for (index, wanted, note) in material.right_notes() {
        let is_accent = wanted.marks.has(Marks::ACCENT)
            && !wanted.marks.has(Marks::LANDING)
            && wanted.attack == Attack::Plucked;
        if !is_accent {
            continue;
        }
        let Some((centre, neighbours)) = around(material, index, wanted.voice.min(VOICES - 1))
        else {
            continue;
        };
        let Some(level) = material.level(note) else { continue };
        let level = Level::from_hundredths((i32::from(level.hundredths()) - centre) as i16);
        let so_far = result.get_or_insert(Accents {
            measured: 0,
            weak: 0,
            weakest: index,
            weakest_level: level,
            mean: level,
            neighbours,
        });
        so_far.measured += 1;
        sum += i32::from(level.hundredths());
        so_far.mean = Level::from_hundredths((sum / i32::from(so_far.measured)) as i16);
        so_far.neighbours = so_far.neighbours.min(neighbours);
        so_far.weak += u16::from(level < above);
        if level < so_far.weakest_level {
            so_far.weakest = index;
            so_far.weakest_level = level;
        }
    }
    result
}

/// The median level of the neighbours of note `index`, and how many they are.
fn around(material: Material<'_>, index: usize, voice: u8) -> Option<(i32, u16)> {
    let notes = material.chunk.notes();
    let level = |other: usize| -> Option<i32> {
        notes.get(other).filter(|wanted| in_group(wanted, voice))?;
        Some(material.level(material.right(other)?)?.hundredths().into())
    };
    let mut levels: Vec<i32, { 2 * ON_A_SIDE }> = Vec::new();
    levels.extend((0..index).rev().filter_map(level).take(ON_A_SIDE));
    levels.extend((index + 1..notes.len()).filter_map(level).take(ON_A_SIDE));
    if levels.len() < FEWEST_PLUCKED {
        return None;
    }
    let count = levels.len() as u16;
    Some((median(&mut levels)?, count))
}
