//! Loudness of plucked notes, slurs and accents.

use super::Said;

pub(super) fn uneven(said: &Said<'_>) -> String {
    let Said { size, limit, .. } = said;
    format!(
        "The plucked notes vary by {size} in loudness; {limit} would pass. Listen for the finger \
         that is always the loudest."
    )
}

pub(super) fn standing_out(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    let way = if said.is_negative() { "softer" } else { "louder" };
    let others = said.others("more stands", "more stand", "out");
    format!(
        "The note at {place} ({note}) is {size} {way} than its neighbours; {limit} would \
         pass.{others}"
    )
}

pub(super) fn weak_slurs(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    let which = match said.count() {
        1 => format!("The slurred note at {place} ({note})"),
        count => format!("{count} slurred notes are weak; the weakest, at {place},"),
    };
    format!(
        "{which} is {size} under the plucked ones, and {limit} would pass. Pluck lighter, or let \
         the finger fall from higher; practise the slurs alone at this tempo."
    )
}

pub(super) fn weak_accents(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    let which = match said.count() {
        1 => format!("The accent at {place} ({note})"),
        count => format!("{count} accents do not stand out; the weakest, at {place},"),
    };
    let way = if said.is_negative() { "softer than" } else { "above" };
    format!("{which} is {size} {way} its neighbours; {limit} above them would pass.")
}
