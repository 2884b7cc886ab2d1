//! Notes that are tied are one note.

use super::model::{Note, Remarks};
use super::time::Quarters;
use std::collections::HashMap;

/// A note with what ties say of it.
pub(super) struct Tied {
    pub(super) note: Note,
    /// A tie goes on from it.
    pub(super) goes_on: bool,
    /// A tie comes to it.
    pub(super) comes: bool,
}

/// Joins them. Those that are to be joined have the same pitch and follow each other at once; where several do, voice
/// and staff decide.
pub(super) fn joined(mut all: Vec<Tied>, remarks: &mut Remarks) -> Vec<Note> {
    all.sort_by_key(|tied| tied.note.onset);
    let mut notes: Vec<Note> = Vec::with_capacity(all.len());
    // Notes that a tie goes on from, by pitch and end.
    let mut open: HashMap<(u8, Quarters), Vec<usize>> = HashMap::new();
    for Tied { note, goes_on, comes } in all {
        let key = (note.written, note.onset);
        let mut from = None;
        if let Some(waiting) = open.get_mut(&key).filter(|waiting| !waiting.is_empty()) {
            let fits = |index: &usize| {
                let before = &notes[*index];
                (before.staff == note.staff, before.voice == note.voice)
            };
            let best = (0..waiting.len()).max_by_key(|at| fits(&waiting[*at])).unwrap_or(0);
            if comes || fits(&waiting[best]) == (true, true) {
                from = Some(waiting.swap_remove(best));
            }
            if !comes && from.is_some() {
                // Programs leave out where a tie ends more often than anybody draws one to nowhere.
                remarks.add("ties whose end is not written (taken as ties)", note.bar);
            }
        }
        let index = match from {
            Some(index) => {
                let before = &mut notes[index];
                match before.length.plus(note.length) {
                    Some(length) => before.length = length,
                    None => remarks.add("a tie over a length that cannot be counted", note.bar),
                }
                before.string = before.string.or(note.string);
                before.fret = before.fret.or(note.fret);
                index
            }
            None => {
                if comes {
                    remarks.add("a tie that comes from no note (the note is plucked)", note.bar);
                }
                notes.push(note);
                notes.len() - 1
            }
        };
        if goes_on && let Some(end) = notes[index].onset.plus(notes[index].length) {
            open.entry((notes[index].written, end)).or_default().push(index);
        }
    }
    for index in open.into_values().flatten() {
        remarks.add("a tie that leads to no note", notes[index].bar);
    }
    notes
}
