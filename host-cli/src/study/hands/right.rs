//! The right hand: one finger for two strings, one finger too soon again, strokes that nobody makes.

use super::strain::Strain;
use crate::study::model::RightFinger;

/// One finger again and again: 5 to 7 a second in tapping, 10 the record (Fujii and others 2009).
const ONE_FINGER: f64 = 7.0;

/// Strokes one after the other: a tremolo in sixteenths is 8 to 10.7 a second at 120 to 160 (criteria of the trade);
/// half as fast again is our default for what nobody plays.
const STROKES: f64 = 16.0;

/// The fingers that pluck at the same time.
pub(super) fn together(fingers: &[RightFinger]) -> Option<Strain> {
    // The thumb sweeps over two.
    let plucks = |finger: RightFinger| fingers.iter().filter(|one| **one == finger).count();
    let others = [RightFinger::Index, RightFinger::Middle, RightFinger::Ring, RightFinger::Little];
    others.into_iter().find(|finger| plucks(*finger) > 1).map(Strain::PlucksTwo)
}

/// A finger that plucks in one event and again in the next, so many milliseconds later.
pub(super) fn again(before: &[RightFinger], now: &[RightFinger], millis: f64) -> Option<Strain> {
    let same = now.iter().find(|finger| before.contains(finger))?;
    (millis > 0.0 && 1_000.0 / millis > ONE_FINGER)
        .then_some(Strain::SameFinger(*same, millis.round() as u16))
}

/// Strokes so many milliseconds apart.
pub(super) fn rate(millis: f64) -> Option<Strain> {
    let strokes = 1_000.0 / millis;
    (millis > 0.0 && strokes > STROKES)
        .then_some(Strain::TooFast(strokes.round().min(999.0) as u16))
}
