//! When the click comes, in frames.

use evenhand_core::practice::ClickTrack;
use evenhand_core::units::Ticks;

/// Microseconds in a second.
const SECOND: u128 = 1_000_000;

/// When a beat comes, in frames after the first, at so many frames a second; rounded to the nearest.
/// Each is reckoned from the first, so that no rounding adds up.
pub fn frame(click: &ClickTrack, number: u32, rate: u32) -> u64 {
    let micros_per_quarter = u128::from(click.tempo().micros_per_quarter());
    let ticks = u128::from(click.metre().beat().get()) * u128::from(number);
    let divisor = u128::from(Ticks::PER_QUARTER) * SECOND;
    let rounded = (micros_per_quarter * ticks * u128::from(rate) + divisor / 2) / divisor;
    u64::try_from(rounded).unwrap_or(u64::MAX)
}
