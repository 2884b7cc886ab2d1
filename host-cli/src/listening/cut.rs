//! What is taken out of a stretch of notes before it is judged as one attempt.

use evenhand_core::units::Offset;

/// Where a way through the study was mended or broken: notes that do not count, and the time
/// that goes with them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cut {
    /// The first note that does not count, and the first that counts again.
    pub(super) from: u32,
    pub(super) to: u32,
    /// What is taken off the time from there on; less than nothing where notes were left out and
    /// the time that is written for them did not pass.
    pub(super) time: Offset,
    /// How many events the player went back; 0 for a gap.
    pub(super) back: usize,
    /// How many events after that of `to` the way had got to.
    pub(super) ahead: usize,
}
