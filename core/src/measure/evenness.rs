//! Loudness of the plucked notes.
//!
//! Plucked notes of one voice, without the accented ones, form a group. In a group of fewer
//! than four no note stands out (see [`single_levels`](super::single_levels)), but how far its
//! notes differ counts. Levels follow [`Material::level`], and only their differences are
//! used. Notes whose velocity was not heard are left out.
//!
//! * *Unevenness*: standard deviation around the mean of the group, pooled over the groups,
//!   without the notes that stand out. Degrees of freedom: notes less groups. Unit: hundredths
//!   of a decibel.
//! * *Standing out*: a note further from its group's median than the limit and than three
//!   and a half standard deviations of the others; at most one in eight. Louder is positive. Where more
//!   notes are out, the playing is uneven and no single note is to blame: without this rule, the
//!   notes beyond the limit were taken away one by one, and what was left looked even.
//!
//! A pickup that sends no velocity, or the same for every note, is not heard to be even.

use super::onsets::Numbers;
use super::statistics::{deviation, median};
use super::{Material, NoteSet};
use crate::align::Sureness;
use crate::study::{Attack, ExpectedNote, Marks};
use crate::units::Level;

/// A single note is beyond doubt if taking it out gains so many times the mean square of the
/// rest: seven standard deviations. Our default.
const BEYOND_DOUBT: u64 = 50;

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
    /// The same with everything counted, where what is left without the notes that stand out is
    /// not so much less that they are beyond doubt.
    pub all_counted: Option<(Level, u32)>,
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
    let mut out = standing_out(material, single, |_| true, 0);
    let mut spread = spread(material, &out, single);
    if out.count() > 0 {
        let scatter = deviation(spread.squares, spread.degrees).unwrap_or(0);
        let threshold = scatter.saturating_mul(7) / 2;
        let confirmed = standing_out(material, single, |index| out.has(index), threshold);
        if confirmed.count() != out.count() {
            out = confirmed;
            spread = self::spread(material, &out, single);
        }
    }
    for voice in 0..VOICES {
        let (Some(centre), _) = plucked(material, voice) else {
            continue;
        };
        for (index, level) in levels(material, voice).filter(|(index, _)| out.has(*index)) {
            let by = level - centre;
            if by < 0 && may_be_noise(material, index) {
                continue;
            }
            let outlier = Outlier { note: index, by: Level::from_hundredths(by as i16) };
            let kind = if by > 0 { &mut result.loud } else { &mut result.soft };
            let (worst, count) = kind.unwrap_or((outlier, 0));
            let further = outlier.by.hundredths().abs() > worst.by.hundredths().abs();
            *kind = Some((if further { outlier } else { worst }, count + 1));
        }
    }
    let level = |spread: &Spread| {
        let deviation = deviation(spread.squares, spread.degrees)?.min(i32::from(i16::MAX));
        Some((Level::from_hundredths(deviation as i16), spread.degrees))
    };
    result.deviation = level(&spread);
    if out.count() > 0 {
        let all = self::spread(material, &NoteSet::default(), single);
        let gained = all.squares.saturating_sub(spread.squares) * u64::from(spread.degrees);
        if gained < spread.squares * out.count() as u64 * BEYOND_DOUBT {
            result.all_counted = level(&all);
        }
    }
    result
}

/// Whether the converter's noise may stand in a note's place: nobody is told that it was soft.
fn may_be_noise(material: Material<'_>, index: usize) -> bool {
    let played = material.pairing.played(index);
    played.is_some_and(|by| material.pairing.classified(by).sureness == Sureness::Doubtful)
}

/// The levels of a voice's group, by expected note.
fn levels<'a>(material: Material<'a>, voice: u8) -> impl Iterator<Item = (usize, i32)> + use<'a> {
    material.right_notes().filter(move |(_, wanted, _)| in_group(wanted, voice)).filter_map(
        move |(index, _, note)| Some((index, i32::from(material.level(note)?.hundredths()))),
    )
}

/// The notes that stand out of their groups: beyond `single` and beyond `scatter`, of those that
/// `may`; none, if it were more than one in eight.
fn standing_out(
    material: Material<'_>,
    single: Level,
    may: impl Fn(usize) -> bool,
    scatter: i32,
) -> NoteSet {
    let mut out = NoteSet::default();
    let mut all = 0;
    for voice in 0..VOICES {
        let mut group: Numbers = levels(material, voice).map(|(_, level)| level).collect();
        if group.len() < FEWEST_IN_A_GROUP {
            continue;
        }
        all += group.len();
        let Some(centre) = median(&mut group) else {
            continue;
        };
        let threshold = i32::from(single.hundredths()).max(scatter);
        for (index, level) in levels(material, voice) {
            if (level - centre).abs() > threshold && may(index) {
                out.insert(index);
            }
        }
    }
    if out.count() > (all / 8).max(1) { NoteSet::default() } else { out }
}

/// Squares of the distances from the means of the groups, and their degrees of freedom.
#[derive(Default)]
struct Spread {
    squares: u64,
    degrees: u32,
}

fn spread(material: Material<'_>, out: &NoteSet, single: Level) -> Spread {
    let mut spread = Spread::default();
    for voice in 0..VOICES {
        let counted = || levels(material, voice).filter(|(index, _)| !out.has(*index));
        let (count, sum) = counted().fold((0, 0), |(n, sum), (_, level)| (n + 1, sum + level));
        if count < 2 {
            continue;
        }
        let mean = (2 * sum + count).div_euclid(2 * count);
        // Two or three notes of which one is far out say which one, not how uneven they all are.
        let far =
            |(_, level): (usize, i32)| (level - mean).abs() > i32::from(single.hundredths()) / 2;
        if (count as usize) < FEWEST_IN_A_GROUP && counted().any(far) {
            continue;
        }
        for (_, level) in counted() {
            spread.squares += u64::from((level - mean).unsigned_abs()).pow(2);
        }
        spread.degrees += count.unsigned_abs() - 1;
    }
    spread
}

/// Whether all notes, and there are several, came with one velocity, or all without.
fn fixed_velocity(material: Material<'_>) -> bool {
    let struck = || material.right_notes().filter(|(_, _, note)| !note.is_bent());
    let first = struck().next().map(|(_, _, note)| note.velocity);
    struck().count() >= FEWEST_IN_A_GROUP
        && struck().all(|(_, _, note)| Some(note.velocity) == first)
}
