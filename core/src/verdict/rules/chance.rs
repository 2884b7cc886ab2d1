//! How far chance may put off what hangs on one note.

use crate::measure::statistics::student_90;

/// How far chance may put off the distance between two onsets: 1.28 standard deviations (one
/// case of ten), of both of them.
pub(super) const fn doubt_of_two(scatter: u32) -> u32 {
    scatter.saturating_mul(181) / 100
}

/// The same for one note against what many others say: a tenth more than for itself alone.
pub(super) const fn doubt_of_one(scatter: u32) -> u32 {
    scatter.saturating_mul(141) / 100
}

/// The same for the one that is furthest out of so many, where the scatter is known with so many
/// degrees of freedom: 1.28 standard deviations are what chance makes of one in one case of ten,
/// and of the furthest of several it makes more.
pub(super) fn doubt_of_the_worst(scatter: u32, of: u16, degrees: u32) -> u32 {
    // Φ⁻¹(0.9^(1/n)) for n = 1, 2, 4 and so on, in hundredths; each n up to the next.
    const NORMAL: [u32; 9] = [128, 163, 194, 223, 248, 272, 294, 315, 334];
    let doublings = of.max(1).next_power_of_two().trailing_zeros() as usize;
    let times = NORMAL.get(doublings).copied().unwrap_or(350);
    uncertain(scatter, degrees).saturating_mul(times * 11 / 10) / 100
}

/// A standard deviation, larger by what Student's t says for so few degrees of freedom.
pub(super) fn uncertain(scatter: u32, degrees: u32) -> u32 {
    (u64::from(scatter) * u64::from(student_90(degrees)) / 1_282) as u32
}
