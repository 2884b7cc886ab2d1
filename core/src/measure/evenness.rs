//! Loudness of the plucked notes.
//!
//! Plucked notes of one voice, without the accented ones, form a group; a group of fewer
//! than four tells nothing. Levels follow [`Material::level`], and only their differences are
//! used. Notes whose velocity was not heard are left out.
//!
//! * *Unevenness*: standard deviation around the median of the group, pooled over the
//!   groups, without the notes that stand out. Degrees of freedom: notes less groups. Unit:
//!   hundredths of a decibel.
//! * *Standing out*: a note further from its group's median than the limit. Louder is
//!   positive.
//!
//! A pickup that sends no velocity, or the same for every note, is not heard to be even.

use super::Material;
use super::statistics::{deviation, median};
use super::tempo::Numbers;
use crate::study::{Attack, ExpectedNote, Marks};
use crate::units::Level;

/// The fewest notes of a group. Our default.
pub const FEWEST_IN_A_GROUP: usize = 4;

/// Voices in a chunk that are told apart.
pub(crate) const VOICES: u8 = 8;

/// One note that is louder or softer than its group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Outlier {
    /// The expected note.
    pub note: usize,
    /// How much louder; softer is negative.
    pub by: Level,
}

/// How even the plucked notes were.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Evenness {
    /// Standard deviation of the level, and its degrees of freedom; `None` where no group is
    /// large enough.
    pub deviation: Option<(Level, u32)>,
    /// The loudest note that stands out, and how many do.
    pub loud: Option<(Outlier, u16)>,
    /// The softest note that stands out, and how many do.
    pub soft: Option<(Outlier, u16)>,
    /// Every note came without a velocity or with the same: nothing can be said.
    pub not_heard: bool,
}

/// Whether a note is compared with the others of its voice.
pub(crate) fn in_group(wanted: &ExpectedNote, voice: u8) -> bool {
    wanted.attack == Attack::Plucked
        && !wanted.marks.has(Marks::ACCENT)
        && wanted.voice.min(VOICES - 1) == voice
}

/// The median level of the plucked notes of a voice, and how many there are.
pub(crate) fn plucked(material: Material<'_>, voice: u8) -> (Option<i32>, usize) {
    let mut levels: Numbers = material
        .right_notes()
        .filter(|(_, wanted, _)| in_group(wanted, voice))
        .filter_map(|(_, _, note)| Some(material.level(note)?.hundredths().into()))
        .collect();
    let count = levels.len();
    (median(&mut levels), count)
}

/// Measures evenness. `single` is the limit for one note.
pub fn evenness(material: Material<'_>, single: Level) -> Evenness {
    let mut result = Evenness { not_heard: fixed_velocity(material), ..Evenness::default() };
    if result.not_heard {
        return result;
    }
    let (mut squares, mut counted, mut groups) = (0_u64, 0_u32, 0_u32);
    for voice in 0..VOICES {
        let (Some(centre), count) = plucked(material, voice) else {
            continue;
        };
        if count < FEWEST_IN_A_GROUP {
            continue;
        }
        groups += 1;
        for (index, wanted, note) in material.right_notes() {
            if !in_group(wanted, voice) {
                continue;
            }
            let Some(level) = material.level(note) else { continue };
            let by = i32::from(level.hundredths()) - centre;
            if by.abs() > i32::from(single.hundredths()) {
                let outlier = Outlier { note: index, by: Level::from_hundredths(by as i16) };
                let kind = if by > 0 { &mut result.loud } else { &mut result.soft };
                let (worst, count) = kind.unwrap_or((outlier, 0));
                let further = outlier.by.hundredths().abs() > worst.by.hundredths().abs();
                *kind = Some((if further { outlier } else { worst }, count + 1));
            } else {
                squares += u64::from(by.unsigned_abs()).pow(2);
                counted += 1;
            }
        }
    }
    let degrees = counted.saturating_sub(groups);
    result.deviation = deviation(squares, degrees).map(|deviation| {
        (Level::from_hundredths(deviation.min(i32::from(i16::MAX)) as i16), degrees)
    });
    result
}

/// Whether all notes, and there are several, came with one velocity, or all without.
fn fixed_velocity(material: Material<'_>) -> bool {
    let struck = || material.right_notes().filter(|(_, _, note)| !note.is_bent());
    let first = struck().next().map(|(_, _, note)| note.velocity);
    struck().count() >= FEWEST_IN_A_GROUP
        && struck().all(|(_, _, note)| Some(note.velocity) == first)
}
