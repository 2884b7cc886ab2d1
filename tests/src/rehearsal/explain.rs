//! Prints what was not told as it was, note by note, for whoever looks for the reason
//! (`EVENHAND_LOG=1`).

use super::tally::Told;
use super::truth::{FalseStart, Traversal};
use super::{Place, Rehearsal};
use evenhand::listening::FalseStart as ToldStart;
use evenhand::study::Prepared;
use evenhand_core::notes::NoteEvent;
use std::ops::Range;

/// A false start is the one that was told if both begin within so many microseconds.
const NEAR: u64 = 400_000;

/// Notes that are shown before what is asked about, and after it.
const BEFORE: u32 = 10;
const AFTER: u32 = 6;

/// When each note began.
fn begun(rehearsal: &Rehearsal) -> Vec<u64> {
    let begins = |event: &NoteEvent| matches!(event, NoteEvent::Begun { .. });
    let events = rehearsal.events.iter().filter(|(_, event)| begins(event));
    events.map(|(at, _)| at.as_micros()).collect()
}

/// The notes around some, as chunk and event, with the milliseconds to the next; those meant are
/// marked.
fn show(rehearsal: &Rehearsal, meant: &Range<u32>) {
    let begun = begun(rehearsal);
    let at = |note: u32| begun.get(note as usize).copied().unwrap_or(0);
    let shown = meant.start.saturating_sub(BEFORE)..meant.end + AFTER;
    let words: Vec<String> = shown
        .map(|note| {
            let place: Option<Place> = rehearsal.notes.get(note as usize).copied().flatten();
            let place = place.map_or("-".to_owned(), |at| format!("{}.{}", at.chunk, at.event));
            let mark = if meant.contains(&note) { "*" } else { "" };
            format!("{mark}{place}({})", at(note + 1).saturating_sub(at(note)) / 1_000)
        })
        .collect();
    println!("    {}", words.join(" "));
}

/// What was told of these notes.
fn show_told(chunks: &[Prepared], told: &[Told], of: &Range<u32>) {
    for told in told.iter().filter(|told| told.notes.iter().any(|(note, _)| of.contains(note))) {
        let ends = (told.notes.first(), told.notes.last());
        let Told { whole, returned, .. } = told;
        println!("    told: {} {ends:?} whole {whole} return {returned}", chunks[told.chunk].name);
    }
}

/// False starts that were not told, and those that were and had not been.
pub(super) fn false_starts(
    chunks: &[Prepared],
    rehearsal: &Rehearsal,
    told: &[Told],
    told_starts: &[ToldStart],
) {
    let begun = begun(rehearsal);
    let is_it = |start: &FalseStart, told: &ToldStart| {
        let at = begun[start.first as usize];
        told.chunk == chunks[start.chunk].name && told.began.as_micros().abs_diff(at) < NEAR
    };
    for start in &rehearsal.false_starts {
        if !told_starts.iter().any(|told| is_it(start, told)) {
            println!("  false start not told: {start:?}");
            let notes = start.first..start.first + 3;
            show(rehearsal, &notes);
            show_told(chunks, told, &notes);
        }
    }
    for told in told_starts {
        if !rehearsal.false_starts.iter().any(|start| is_it(start, told)) {
            println!("  false start invented: {} {} notes", told.chunk, told.notes);
            let first = begun.iter().position(|at| *at >= told.began.as_micros()).unwrap_or(0);
            show(rehearsal, &(first as u32..first as u32 + told.notes));
        }
    }
}

/// A traversal that was not found.
pub(super) fn traversal(
    chunks: &[Prepared],
    rehearsal: &Rehearsal,
    told: &[Told],
    missed: &Traversal,
) {
    println!("  not found: {} {missed:?}", chunks[missed.chunk].name);
    let notes = missed.first..missed.last + 1;
    show(rehearsal, &notes);
    show_told(chunks, told, &notes);
}

/// An attempt of which nothing was played like it.
pub(super) fn invented(chunks: &[Prepared], rehearsal: &Rehearsal, told: &Told) {
    println!("  invented: {} stranger {}", chunks[told.chunk].name, told.stranger);
    if let Some(((first, _), (last, _))) = told.notes.first().zip(told.notes.last()) {
        show(rehearsal, &(*first..last + 1));
    }
}
