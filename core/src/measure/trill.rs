//! Trills: how many notes, how fast, how even, how long.
//!
//! A trill starts with an expected note; the notes of its two pitches that follow until its
//! written end belong to it, as many as the player likes. A note that the converter heard an
//! octave or a twelfth off counts as one, and one that it began twice or corrected, or whose end it sent once
//! more, counts once.
//! Measured are
//!
//! * *notes*: with the first one; fewer than four are no trill;
//! * *rate*: notes a second, in hundredths, from the median interval; reported only, since a
//!   study names no rate;
//! * *unevenness*: standard deviation of the intervals over their mean, in per mille. A repeat that is so late
//!   that a note had room between (the other pitch did not sound, or the converter lost it) is two intervals:
//!   it is told as a repeat;
//! * *repeats*: neighbours with the same pitch: the alternation failed there;
//! * *change*: twice the difference of the median intervals of the second and the first half,
//!   in per mille of the median: slower is positive, an accelerating trill negative. From eight
//!   intervals on (our default); reported only;
//! * *cover*: from the first note to one median interval after the last, over the written
//!   length at the player's own tempo, in per mille; unknown without that tempo.
//!
//! The entry is part of [timing](super::timing): the first note is an expected note like
//! others. The exit is what the cover leaves open.

use super::Material;
use super::holding::share;
use super::onsets::Numbers;
use super::statistics::{deviation, median};
use crate::align::Role;
use crate::attempt::{Onset, SAME_STROKE};
use crate::units::lasting;

/// The fewest notes of a trill: two alternations. Our default.
pub const FEWEST_NOTES: u16 = 4;

/// A repeat that comes after this share of the median interval, in per cent, has room for a note between. Our
/// default: between one interval and two.
const A_NOTE_LONGER: i32 = 150;

/// The fewest intervals that show whether it gets faster. Our default.
const FEWEST_FOR_CHANGE: usize = 8;

/// One trill as it was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trill {
    /// The expected note that starts it.
    pub note: usize,
    /// How many notes it had.
    pub notes: u16,
    /// Notes a second, in hundredths; 0 for fewer than two notes.
    pub rate: u32,
    /// Standard deviation of the intervals over their mean, in per mille, and its degrees of
    /// freedom.
    pub unevenness: Option<(u16, u32)>,
    /// How many notes had the pitch of their predecessor.
    pub repeats: u16,
    /// How much slower it got, in per mille; faster is negative.
    pub change_per_mille: Option<i16>,
    /// How much of its written length it filled, in per mille.
    pub cover_per_mille: Option<u16>,
}

/// The trills whose first note was played, in order. `pace` is the player's own, where it is
/// known.
pub fn trills<'a>(
    material: Material<'a>,
    pace: Option<u32>,
) -> impl Iterator<Item = Trill> + use<'a> {
    material
        .right_notes()
        .filter(|(_, wanted, _)| wanted.trill.is_some())
        .filter_map(move |(index, _, _)| measure(material, index, pace))
}

fn measure(material: Material<'_>, index: usize, pace: Option<u32>) -> Option<Trill> {
    let first = material.right(index)?;
    let mut previous = first;
    let mut trill = Trill {
        note: index,
        notes: 1,
        rate: 0,
        unevenness: None,
        repeats: 0,
        change_per_mille: None,
        cover_per_mille: None,
    };
    let mut intervals = Numbers::new();
    let mut repeated = Numbers::new();
    for (by, note) in material.played.iter().enumerate() {
        let soon = note.at.as_micros().saturating_sub(previous.at.as_micros());
        let trails = note.onset == Onset::Trailing && note.pitch == previous.pitch;
        let same_stroke = soon < SAME_STROKE.as_micros() || note.is_begun_again(previous) || trails;
        if material.pairing.role(by) != Role::Trill(index) || same_stroke {
            continue;
        }
        let interval = note.at.as_micros().saturating_sub(previous.at.as_micros());
        let _ = intervals.push(interval.max(0));
        trill.notes += 1;
        if note.pitch == previous.pitch {
            trill.repeats += 1;
            let _ = repeated.push(interval);
        }
        previous = note;
    }
    let usual = median(&mut intervals.clone()).unwrap_or(0);
    let longer =
        |interval: i32| interval.saturating_mul(100) >= usual.saturating_mul(A_NOTE_LONGER);
    for interval in repeated.into_iter().filter(|&interval| longer(interval)) {
        let place = intervals.iter_mut().find(|place| **place == interval);
        place.into_iter().for_each(|place| *place = interval / 2);
        let _ = intervals.push(interval / 2);
    }
    trill.unevenness = unevenness(&intervals);
    trill.change_per_mille = change(&mut intervals.clone());
    if let Some(interval) = median(&mut intervals).filter(|&interval| interval > 0) {
        trill.rate = 100_000_000 / interval.unsigned_abs();
        let wanted = material.chunk.notes().get(index)?;
        trill.cover_per_mille = pace.and_then(|pace| {
            let end = previous.at.as_micros().saturating_add(interval);
            let filled = end.saturating_sub(first.at.as_micros());
            share(filled, lasting(wanted.duration, pace))
        });
    }
    Some(trill)
}

/// Standard deviation of the intervals over their mean, in per mille.
fn unevenness(intervals: &[i32]) -> Option<(u16, u32)> {
    let count = intervals.len() as u64;
    let sum: u64 = intervals.iter().map(|&interval| u64::from(interval.unsigned_abs())).sum();
    let mean = sum.checked_div(count).filter(|&mean| mean > 0)?;
    let squares: u64 = intervals
        .iter()
        .map(|&interval| u64::from(interval.unsigned_abs()).abs_diff(mean).pow(2))
        .fold(0, u64::saturating_add);
    let degrees = count as u32 - 1;
    let deviation = deviation(squares, degrees)?;
    let per_mille = u64::from(deviation.unsigned_abs()) * 1_000 / mean;
    Some((per_mille.min(60_000) as u16, degrees))
}

fn change(intervals: &mut [i32]) -> Option<i16> {
    if intervals.len() < FEWEST_FOR_CHANGE {
        return None;
    }
    let (first, second) = intervals.split_at_mut_checked(intervals.len() / 2)?;
    let (first, second) = (i64::from(median(first)?), i64::from(median(second)?));
    let whole = i64::from(median(intervals)?).max(1);
    let change = 2 * (second - first) * 1_000 / whole;
    Some(change.clamp(-30_000, 30_000) as i16)
}
