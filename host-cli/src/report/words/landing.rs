//! The arrival on what comes next.

use super::Said;
use super::amount::number;
use evenhand_core::verdict::Severity;

pub(super) fn notes(said: &Said<'_>) -> String {
    let Said { place, note, .. } = said;
    match said.count() {
        1 => format!("A note of the landing at {place} is wrong or did not come: {note}."),
        count => format!(
            "{count} notes of the landing at {place} are wrong or did not come, the first {note}."
        ),
    }
}

/// Nothing came. It is told as a slip when it is the third time in a row.
pub(super) fn not_played(said: &Said<'_>) -> String {
    let on = format!("Play on to the first notes of the next chunk, at {}", said.place);
    if said.finding.severity == Severity::Fails {
        return format!(
            "The landing was not played, {} times in a row. {on}: the arrival is part of this \
             chunk.",
            number(u8::try_from(said.count()).unwrap_or(u8::MAX))
        );
    }
    format!("The landing was not played. {on}.")
}

pub(super) fn time(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    if said.is_negative() {
        return format!(
            "The landing at {place} comes {size} too soon; {limit} would pass. Let the last note \
             have its full length."
        );
    }
    format!(
        "{size} lost before the landing at {place}; {limit} would pass. Play the last two notes \
         and the landing alone, with the hand on its way before the last note ends."
    )
}

pub(super) fn spread(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    format!(
        "The landing at {place} spreads over {size}; {limit} would pass. Set all fingers before \
         the hand closes."
    )
}
