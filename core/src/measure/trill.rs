//! Trills: how many notes, how fast, how even.
//!
//! A trill starts with an expected note; the notes of its two pitches that follow until its
//! written end belong to it, as many as the player likes. A note that the converter heard an
//! octave or a twelfth off counts as one, and one that it began twice or corrected counts once. Measured are
//!
//! * *notes*: with the first one; fewer than four are no trill;
//! * *rate*: notes a second, in hundredths, from the median interval;
//! * *unevenness*: standard deviation of the intervals over their mean, in per mille;
//! * *repeats*: neighbours with the same pitch: the alternation failed there.

use super::Material;
use super::statistics::{deviation, median};
use super::tempo::Numbers;
use crate::align::Role;
use crate::attempt::SAME_STROKE;

/// The fewest notes of a trill: two alternations. Our default.
pub const FEWEST_NOTES: u16 = 4;

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
}

/// The trills whose first note was played, in order.
pub fn trills<'a>(material: Material<'a>) -> impl Iterator<Item = Trill> + use<'a> {
    material
        .right_notes()
        .filter(|(_, wanted, _)| wanted.trill.is_some())
        .filter_map(move |(index, _, _)| measure(material, index))
}

fn measure(material: Material<'_>, index: usize) -> Option<Trill> {
    let mut previous = material.right(index)?;
    let mut trill = Trill { note: index, notes: 1, rate: 0, unevenness: None, repeats: 0 };
    let mut intervals = Numbers::new();
    for (by, note) in material.played.iter().enumerate() {
        let soon = note.at.as_micros().saturating_sub(previous.at.as_micros());
        let same_stroke = soon < SAME_STROKE.as_micros() || note.is_begun_again(previous);
        if material.pairing.role(by) != Role::Trill(index) || same_stroke {
            continue;
        }
        let interval = note.at.as_micros().saturating_sub(previous.at.as_micros());
        let _ = intervals.push(interval.max(0));
        trill.notes += 1;
        trill.repeats += u16::from(note.pitch == previous.pitch);
        previous = note;
    }
    let count = intervals.len() as u64;
    let sum: u64 = intervals.iter().map(|&interval| u64::from(interval.unsigned_abs())).sum();
    if let Some(mean) = sum.checked_div(count).filter(|&mean| mean > 0) {
        let squares: u64 = intervals
            .iter()
            .map(|&interval| u64::from(interval.unsigned_abs()).abs_diff(mean).pow(2))
            .fold(0, u64::saturating_add);
        let degrees = count as u32 - 1;
        trill.unevenness = deviation(squares, degrees).map(|deviation| {
            ((u64::from(deviation.unsigned_abs()) * 1_000 / mean) as u16, degrees)
        });
    }
    if let Some(interval) = median(&mut intervals).filter(|&interval| interval > 0) {
        trill.rate = 100_000_000 / interval.unsigned_abs();
    }
    Some(trill)
}
