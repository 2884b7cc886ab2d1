//! How long notes sounded.

use super::Said;
use evenhand_core::verdict::Severity;

pub(super) fn held(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    if said.finding.severity == Severity::Unsettled {
        return format!(
            "The held note at {place} ({note}) was heard for {size} of its length, and {limit} \
             would pass; it may have died away by itself. Play it louder, or the chunk faster, \
             to settle it."
        );
    }
    let others = said.others("more is", "more are", "let go too soon");
    format!(
        "The held note at {place} ({note}) sounds for {size} of its length; {limit} would \
         pass.{others} Keep that finger down until the next note is due."
    )
}

pub(super) fn long_staccato(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    let others = said.others("more is", "more are", "too long");
    format!(
        "The short note at {place} ({note}) sounds for {size} of its length; {limit} would \
         pass.{others}"
    )
}

pub(super) fn gaps(said: &Said<'_>) -> String {
    let Said { place, size, .. } = said;
    format!(
        "There are gaps between the notes: {size} of the way from one to the next is silent, \
         most of all after {place}."
    )
}
