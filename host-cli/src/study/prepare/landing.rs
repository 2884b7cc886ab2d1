//! What is reached after the last note of a chunk.

use super::body::{Body, check_together};
use super::guitar::Guitar;
use super::note;
use super::playable::Sounding;
use crate::study::model::{Landing, Sound};
use crate::study::report::Report;
use crate::study::span::Spanned;
use evenhand_core::study::{Attack, Marks};
use evenhand_core::units::Ticks;

/// The notes of the landing of a chunk that lasts `length`; `next` is what follows it.
///
/// They begin where the chunk ends; with `next`, the rests that the next chunk begins with
/// come first. Each lasts a quarter note (our default: how long is not judged).
pub(super) fn landing(
    landing: Option<&Spanned<Landing>>,
    length: Ticks,
    next: Option<&Body>,
    guitar: &Guitar,
    report: &mut Report<'_>,
) -> Vec<Sounding> {
    let Some(landing) = landing else {
        return Vec::new();
    };
    match &landing.value {
        Landing::Next => {
            let Some(next) = next else {
                let right = "“next” before another chunk, or a chord such as 5:3+4:2,";
                report.word(landing.span, "next", right);
                return Vec::new();
            };
            first_event(next, length)
        }
        Landing::On(sound) => chord(sound, length, guitar, report),
        Landing::Nothing => Vec::new(),
    }
}

fn first_event(next: &Body, length: Ticks) -> Vec<Sounding> {
    let Some(first) = next.notes.first() else {
        return Vec::new();
    };
    let onset = first.note.onset;
    let event = next.notes.iter().take_while(|s| s.note.onset == onset);
    event.map(|s| arrival(s, length.plus(onset))).collect()
}

fn chord(sound: &Sound, length: Ticks, guitar: &Guitar, report: &mut Report<'_>) -> Vec<Sounding> {
    let mut notes: Vec<Sounding> = Vec::new();
    for written in &sound.notes {
        if written.slurred || written.trill.is_some() || written.hold || written.short {
            let right = "only fingers and accents on the notes of a landing";
            report.add(written.span, "“^”, trill, hold or short in a landing", right);
        }
        let Some(note) = note::note(written, sound, guitar, report) else {
            continue;
        };
        let string = note.note.string;
        let clash = |s: &Sounding| string.is_some() && s.note.string == string;
        if notes.iter().any(|s| clash(s) || s.note.order() == note.note.order()) {
            report.add(
                written.span,
                "a note twice on one string",
                "one note on a string at a time",
            );
            continue;
        }
        notes.push(arrival(&note, length));
    }
    notes.sort_by_key(|s| s.note.order());
    check_together(&notes, report);
    notes
}

/// The note as the first of what comes next.
pub(super) fn arrival(of: &Sounding, onset: Ticks) -> Sounding {
    let mut arrival = *of;
    let was = of.note.marks;
    let mut marks = Marks::LANDING;
    for kept in [Marks::ROLLED, Marks::SHIFT, Marks::ACCENT] {
        if was.has(kept) {
            marks = marks.with(kept);
        }
    }
    arrival.note.onset = onset;
    arrival.note.duration = Ticks::new(Ticks::PER_QUARTER);
    arrival.note.marks = marks;
    arrival.note.attack = Attack::Plucked;
    arrival.note.trill = None;
    arrival.hand.slur = None;
    arrival.hand.trill_fret = None;
    arrival
}
