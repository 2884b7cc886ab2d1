//! How far chance may put off what hangs on one note.

/// How far chance may put off the distance between two onsets: 1.28 standard deviations (one
/// case of ten), of both of them.
pub(super) const fn doubt_of_two(scatter: u32) -> u32 {
    scatter.saturating_mul(181) / 100
}

/// The same for one note against what many others say: a tenth more than for itself alone.
pub(super) const fn doubt_of_one(scatter: u32) -> u32 {
    scatter.saturating_mul(141) / 100
}
