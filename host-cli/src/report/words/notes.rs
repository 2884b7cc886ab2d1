//! Wrong, missing, extra and swapped notes.

use super::Said;
use crate::study::pitch_name;
use evenhand_core::align::Origin;

pub(super) fn wrong(said: &Said<'_>) -> String {
    let Said { finished, at, place, note, .. } = said;
    let played = finished
        .pairing
        .played(*at)
        .and_then(|by| finished.played.get(by))
        .map(|played| pitch_name(played.pitch));
    let played = played.unwrap_or_else(|| "another note".to_owned());
    let wanted = finished.chunk.notes.get(*at).map(|note| pitch_name(note.pitch));
    let wanted = wanted.unwrap_or_default();
    match said.count() {
        1 => format!("A wrong note at {place}: {played} instead of {wanted} ({note})."),
        count => format!(
            "{count} wrong notes, the first at {place}: {played} instead of {wanted} ({note})."
        ),
    }
}

pub(super) fn missing(said: &Said<'_>) -> String {
    let Said { place, note, .. } = said;
    match said.count() {
        1 => format!("A note did not come: {note} at {place}."),
        count => format!("{count} notes did not come, the first at {place} ({note})."),
    }
}

pub(super) fn swapped(said: &Said<'_>) -> String {
    let Said { place, note, .. } = said;
    match said.count() {
        1 => format!("Two notes changed places at {place} ({note} came too late)."),
        count => {
            format!("{count} notes changed places with their neighbours, the first at {place}.")
        }
    }
}

pub(super) fn extra(said: &Said<'_>) -> String {
    let finished = said.finished;
    let extra = finished.material(|material| {
        material.extras().find(|(_, class)| class.origin() == Origin::Slip).map(|(by, _)| by)
    });
    let first = extra
        .and_then(|by| finished.played.get(by))
        .map(|note| pitch_name(note.pitch))
        .unwrap_or_default();
    let place = match said.finding.note {
        Some(_) => format!("after {}", said.place),
        None => "before the first note".to_owned(),
    };
    match said.count() {
        1 => format!("One note too many, {first}, {place}."),
        count => format!("{count} notes too many, the first ({first}) {place}."),
    }
}

pub(super) fn went_back(said: &Said<'_>) -> String {
    let notes = super::amount::notes(said.finding.size.magnitude(), "note");
    let place = &said.place;
    match said.count() {
        0 | 1 => format!(
            "A return before {place}: {notes} played once more, then on. Practise the way across \
             that place by itself."
        ),
        count => format!(
            "{count} returns, the first before {place}, of up to {notes}. Practise the way across \
             that place by itself."
        ),
    }
}
