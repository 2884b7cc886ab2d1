//! Trills.

use super::Said;
use super::amount::notes;

pub(super) fn short(said: &Said<'_>) -> String {
    format!(
        "The trill at {} has {}; {} make a trill.",
        said.place,
        notes(said.finding.size.magnitude(), "note"),
        said.finding.limit.magnitude()
    )
}

pub(super) fn uneven(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    format!(
        "The notes of the trill at {place} vary by {size} in length; {limit} would pass. Trill \
         slower, and let it be even before it is fast."
    )
}
