//! The same search behind a pickup of which a few minutes of playing have shown how it errs.

use evenhand_core::pickup::{Habits, ONE, Pickup, TrackingError};
use evenhand_core::units::GuitarString;

/// Notes of each string that were heard. Our default: some minutes of playing.
const NOTES: u16 = 200;

/// How often a converter that is not ours erred at its best setting, in a hundredth of a note: what the rig
/// with it shows of 180 clean takes (`docs/converter-rig.md`).
const ERRORS: [(TrackingError, u16); 5] = [
    (TrackingError::Lost, 260),
    (TrackingError::Double, 210),
    (TrackingError::Stale, 110),
    (TrackingError::Trailing, 80),
    (TrackingError::Octave, 20),
];

/// A pickup that is known to err so.
pub fn pickup(before: Pickup) -> Pickup {
    let mut habits = Habits::NONE;
    for string in (1..=6).map(GuitarString::new).chain([None]) {
        let own = habits.string_mut(string);
        (0..NOTES).for_each(|_| own.count_note());
        for (error, hundredths) in ERRORS {
            own.count(error, ONE * NOTES / 100 * hundredths / 100);
        }
    }
    Pickup { habits, ..before }
}
