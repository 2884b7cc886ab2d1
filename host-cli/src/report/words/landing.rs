//! The arrival on what comes next.

use super::Said;

pub(super) fn notes(said: &Said<'_>) -> String {
    let Said { place, note, .. } = said;
    match said.count() {
        1 => format!("A note of the landing at {place} is wrong or did not come: {note}."),
        count => format!(
            "{count} notes of the landing at {place} are wrong or did not come, the first {note}."
        ),
    }
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
