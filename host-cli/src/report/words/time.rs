//! Rhythm, tempo, chords.

use super::Said;

pub(super) fn unsteady(said: &Said<'_>) -> String {
    let Said { size, limit, .. } = said;
    format!(
        "The notes scatter by {size} around your own tempo; {limit} would pass. Slow down until \
         every note falls where you hear it coming."
    )
}

pub(super) fn off_beat(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    let others = said.others("more is", "more are", "off the beat");
    let way = if said.is_negative() { "early" } else { "late" };
    format!("The note at {place} comes {size} {way}; {limit} would pass.{others}")
}

pub(super) fn hesitation(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    if said.is_negative() {
        return format!(
            "The note at {place} comes {size} too soon: let the one before it have its full length."
        );
    }
    let others = said.others("more pause", "more pauses", "");
    format!("{size} lost before {place}; {limit} would pass.{others}")
}

pub(super) fn hesitation_at_shift(said: &Said<'_>) -> String {
    let Said { place, note, size, limit, .. } = said;
    if said.is_negative() {
        return format!(
            "The shift to {place} comes {size} too soon: let the note before it have its full \
             length."
        );
    }
    format!(
        "{size} lost at the shift to {place} ({note}); {limit} would pass. Let the hand travel \
         while the last note still sounds; practise the two notes around the shift alone."
    )
}

pub(super) fn drift(said: &Said<'_>) -> String {
    let Said { size, limit, .. } = said;
    let way = if said.is_negative() { "speeds up" } else { "slows down" };
    format!("The tempo {way} by {size} on the way; {limit} would pass.")
}

pub(super) fn off_pace(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    let (what, way) = if said.is_negative() { ("rushed", "faster") } else { ("dragged", "slower") };
    format!(
        "{} notes in a row are {what}, from {place}: {size} {way} than the rest; {limit} would \
         pass. Count aloud through them.",
        said.count()
    )
}

pub(super) fn off_the_click(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    let others = said.others("more is", "more are", "off the click");
    let way = if said.is_negative() { "early" } else { "late" };
    format!("The note at {place} comes {size} {way} by the click; {limit} would pass.{others}")
}

pub(super) fn away_from_the_click(said: &Said<'_>) -> String {
    let Said { size, limit, .. } = said;
    let way = if said.is_negative() { "faster" } else { "slower" };
    format!(
        "You play {size} {way} than the click; {limit} would pass. Listen for the click between \
         your notes."
    )
}

pub(super) fn beside_the_click(said: &Said<'_>) -> String {
    let way = if said.is_negative() { "before" } else { "behind" };
    format!("All of it lies {} {way} the click.", said.size)
}

pub(super) fn spread_chords(said: &Said<'_>) -> String {
    let Said { place, size, limit, .. } = said;
    let which = match said.count() {
        1 => format!("The chord at {place} spreads over {size}"),
        count => {
            format!("{count} chords do not speak together, the one at {place} spreads over {size}")
        }
    };
    format!("{which}; {limit} would pass. Set all fingers before the hand closes.")
}
