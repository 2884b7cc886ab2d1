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

pub(super) fn repeats(said: &Said<'_>) -> String {
    let Said { place, .. } = said;
    let which = match said.count() {
        1 => "one note".to_owned(),
        count => format!("{count} notes"),
    };
    format!(
        "In the trill at {place} {which} came twice in a row: the other finger did not sound. \
         Trill slower, until each finger speaks."
    )
}

pub(super) fn stops_early(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    format!(
        "The trill at {place} stops early: it fills {size} of its length, and {limit} would pass."
    )
}
