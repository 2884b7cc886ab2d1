//! Note length: staccato where it is marked, and gaps between notes where it is not.
//!
//! * *Staccato*: what a note marked [`STACCATO`](Marks::STACCATO) sounded (see
//!   [`super::sounding`]) over its written length at the player's own tempo. Unit: per mille,
//!   never negative.
//! * *Gap*: from the end of a note to the beginning of the next event of its voice, over the
//!   time between the two beginnings. Unit: per mille; notes that overlap have no gap, 0. Only
//!   where the note is unmarked (not staccato, held, rolled or a trill), the next note of the
//!   voice follows without a rest, both were played right, and the note cannot have died away.
//!   Told is the median, from four notes on (our default).
//!
//! A note without a note-off is measured in neither.

use super::Material;
use super::holding::share;
use super::onsets::Numbers;
use super::sounding::sounded;
use super::statistics::median;
use crate::study::{ExpectedNote, Marks};
use crate::units::lasting;

/// The fewest notes whose gaps tell anything. Our default.
pub const FEWEST_GAPS: usize = 4;

/// How long notes were.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lengths {
    /// Staccato notes that were measured.
    pub staccato: u16,
    /// Staccato notes over the limit.
    pub long: u16,
    /// The longest staccato note, and the per mille of its written length that it sounded.
    pub longest: Option<(usize, u16)>,
    /// The median gap in per mille of the interval.
    pub gap_per_mille: Option<u16>,
    /// The note with the widest gap after it.
    pub widest_gap: Option<usize>,
}

/// Measures the lengths. `pace` is the player's own; `staccato` is how much of its written
/// length a staccato note may sound, in per mille.
pub fn lengths(material: Material<'_>, pace: u32, staccato: u16) -> Lengths {
    let mut result = Lengths::default();
    let mut gaps = Numbers::new();
    let mut widest = 0;
    for (note, wanted, _) in material.right_notes() {
        if wanted.marks.has(Marks::STACCATO) {
            let Some(per_mille) = staccato_share(material, note, wanted, pace) else { continue };
            result.staccato += 1;
            result.long += u16::from(per_mille > staccato);
            if result.longest.is_none_or(|(_, longest)| per_mille > longest) {
                result.longest = Some((note, per_mille));
            }
        } else if let Some(gap) = gap(material, note, wanted) {
            let gap = i32::from(gap);
            let _ = gaps.push(gap);
            if result.widest_gap.is_none() || gap > widest {
                result.widest_gap = Some(note);
                widest = gap;
            }
        }
    }
    if gaps.len() >= FEWEST_GAPS {
        result.gap_per_mille = median(&mut gaps).map(|gap| gap as u16);
    }
    result
}

fn staccato_share(
    material: Material<'_>,
    note: usize,
    wanted: &ExpectedNote,
    pace: u32,
) -> Option<u16> {
    if wanted.marks.has(Marks::LANDING) {
        return None;
    }
    let sounded = sounded(material, material.pairing.played(note)?)?;
    share(sounded.lasted.as_micros(), lasting(wanted.duration, pace))
}

fn gap(material: Material<'_>, note: usize, wanted: &ExpectedNote) -> Option<u16> {
    let marked = [Marks::HELD, Marks::ROLLED, Marks::LANDING];
    if wanted.trill.is_some() || marked.iter().any(|&mark| wanted.marks.has(mark)) {
        return None;
    }
    let notes = material.chunk.notes();
    let next = notes
        .iter()
        .enumerate()
        .skip(note + 1)
        .find(|(_, next)| next.voice == wanted.voice && next.onset > wanted.onset);
    let (next, after) = next?;
    let follows = after.onset <= wanted.onset.plus(wanted.duration);
    if !follows || after.marks.has(Marks::LANDING) {
        return None;
    }
    let sounded = sounded(material, material.pairing.played(note)?)?;
    if sounded.may_have_died_away {
        return None;
    }
    let interval =
        material.right(next)?.at.as_micros().saturating_sub(material.right(note)?.at.as_micros());
    share(interval.saturating_sub(sounded.lasted.as_micros()), interval)
}
