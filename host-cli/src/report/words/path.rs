//! The strings that were used.

use super::Said;
use super::amount::notes;
use evenhand_core::measure::path::nearest;

/// Names the alternative, if it explains the strings better than the chunk itself does.
pub(super) fn other_strings(said: &Said<'_>) -> String {
    let Said { finished, place, .. } = said;
    let alternatives = &finished.chunk.alternatives;
    let paths = alternatives.iter().map(|other| other.strings.as_slice());
    let best = finished.material(|material| nearest(material, paths));
    let better = best.filter(|(_, path)| path.elsewhere < said.count());
    let moved = notes(u32::from(said.count()), "note");
    let were = if said.count() == 1 { "was" } else { "were" };
    match better.and_then(|(which, path)| Some((alternatives.get(which)?, path))) {
        Some((other, path)) if path.elsewhere == 0 => {
            format!("You played the fingering “{}”.", other.name)
        }
        Some((other, path)) => format!(
            "You played another fingering, nearest to “{}” ({} on other strings).",
            other.name,
            notes(u32::from(path.elsewhere), "note")
        ),
        None => format!(
            "You played another fingering: {moved} {were} on another string, the first at {place}."
        ),
    }
}
