//! What a listener said of a rehearsal, against what it was.

use super::{Kind, Place, Rehearsal, explain};
use evenhand::listening::{FalseStart, Finished, Listener, voices};
use evenhand::study::Prepared;
use evenhand_core::session::SessionConfig;
use evenhand_core::study::Marks;
use evenhand_core::verdict::Kind as Finding;

/// Ends within so many notes are right.
const NEAR: u32 = 3;

/// How many, and how many of them were found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Of {
    /// How many were found.
    pub found: u32,
    /// How many there were.
    pub all: u32,
}

impl Of {
    const fn count(&mut self, found: bool) {
        self.found += found as u32;
        self.all += 1;
    }

    /// Whether at least so many per cent were found.
    pub const fn is_at_least(&self, per_cent: u32) -> bool {
        self.found * 100 >= self.all * per_cent
    }
}

/// The count of a rehearsal, or of several.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Whole traversals without a slip.
    pub clean: Of,
    /// Those with a slip.
    pub slips: Of,
    /// Those with a return.
    pub returns: Of,
    /// ... of which the return was told as one.
    pub returns_told: u32,
    /// Those with a gap.
    pub gaps: Of,
    /// Attempts that were told.
    pub told: u32,
    /// ... of which nothing was played like them.
    pub invented: u32,
    /// False starts that were told.
    pub false_starts_told: u32,
    /// False starts.
    pub false_starts: u32,
}

/// An attempt that was told: for each of its chunks the notes that were paired.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) chunk: usize,
    /// It is told as something that nobody does here.
    pub(super) stranger: bool,
    pub(super) notes: Vec<(u32, Place)>,
    pub(super) whole: bool,
    pub(super) returned: bool,
}

impl Tally {
    /// Counts a rehearsal; with `log` it is printed what was not told as it was.
    pub fn count(&mut self, chunks: &[Prepared], rehearsal: &Rehearsal, log: bool) {
        let (told, false_starts) = listen(chunks, rehearsal);
        self.false_starts_told += false_starts.len() as u32;
        self.false_starts += rehearsal.false_starts.len() as u32;
        if log {
            explain::false_starts(chunks, rehearsal, &told, &false_starts);
        }
        for traversal in &rehearsal.traversals {
            let is_it = |told: &&Told| {
                let first = told.notes.iter().map(|(note, _)| *note).min();
                let last = told.notes.iter().map(|(note, _)| *note).max();
                let near = |found: Option<u32>, truth: u32| {
                    found.is_some_and(|found| found.abs_diff(truth) <= NEAR)
                };
                told.chunk == traversal.chunk
                    && told.whole
                    && near(first, traversal.first)
                    && near(last, traversal.last)
            };
            let found = told.iter().find(is_it).map(|told| told.returned);
            let (is_found, returned) = (found.is_some(), found == Some(true));
            if log && !is_found {
                explain::traversal(chunks, rehearsal, &told, traversal);
            }
            match traversal.kind {
                Kind::Clean => self.clean.count(is_found),
                Kind::Slip => self.slips.count(is_found),
                Kind::Gap => self.gaps.count(is_found),
                Kind::Return => {
                    self.returns.count(is_found);
                    self.returns_told += u32::from(returned);
                }
            }
        }
        for told in &told {
            self.told += 1;
            let agrees = |(note, place): &&(u32, Place)| {
                let truth = rehearsal.notes.get(*note as usize).copied().flatten();
                truth == Some(*place)
            };
            let right = told.notes.iter().filter(agrees).count();
            if told.stranger || right * 10 < told.notes.len() * 6 {
                self.invented += 1;
                if log {
                    explain::invented(chunks, rehearsal, told);
                }
            }
        }
    }
}

fn listen(chunks: &[Prepared], rehearsal: &Rehearsal) -> (Vec<Told>, Vec<FalseStart>) {
    let voices = voices(chunks);
    let mut listener = Listener::new(chunks, SessionConfig::default()).with_voices(&voices);
    let mut told = Vec::new();
    let mut false_starts = Vec::new();
    for &(at, event) in &rehearsal.events {
        while let Some(due) = listener.poll_at().filter(|due| *due < at) {
            while let Some(finished) = listener.poll(due) {
                told.extend(told_of(chunks, &finished));
            }
        }
        while let Some(finished) = listener.poll(at) {
            told.extend(told_of(chunks, &finished));
        }
        listener.hear(event, at);
    }
    while let Some(finished) = listener.finish() {
        told.extend(told_of(chunks, &finished));
    }
    while let Some(start) = listener.false_start() {
        false_starts.push(start);
    }
    (told, false_starts)
}

/// A part that was looped. Where its notes belong is told by when they are due; in a voice alone
/// nobody practises here.
fn part_of(chunks: &[Prepared], finished: &Finished<'_>) -> Told {
    let music = &finished.chunk;
    let bar = music.metre.bar().get();
    let begins = |chunk: &Prepared| u32::from(chunk.first_bar) * bar + chunk.into_first_bar.get();
    let mut notes = Vec::new();
    for (note, wanted) in music.notes.iter().enumerate() {
        let at = begins(music) + wanted.onset.get();
        let own = chunks.iter().rposition(|chunk| begins(chunk) <= at);
        let by = finished.pairing.played(note).and_then(|by| finished.arrival(by));
        if let Some((chunk, number)) = own.zip(by) {
            let mut onsets: Vec<_> = chunks[chunk].notes.iter().map(|note| note.onset).collect();
            onsets.dedup();
            let due = at - begins(&chunks[chunk]);
            let event = onsets.iter().position(|onset| onset.get() == due);
            notes.push((number, Place { chunk, event: event.unwrap_or(usize::MAX) }));
        }
    }
    let chunk = notes.first().map_or(0, |(_, place)| place.chunk);
    let stranger = finished.part_of.is_none();
    Told { chunk, stranger, notes, whole: false, returned: false }
}

/// The chunks of an attempt, with what was paired of each.
fn told_of(chunks: &[Prepared], finished: &Finished<'_>) -> Vec<Told> {
    let name = finished.chunk.name.as_str();
    let first = chunks.iter().position(|chunk| {
        name == chunk.name
            || name.starts_with(&format!("{} and ", chunk.name))
            || name.starts_with(&format!("{} to ", chunk.name))
    });
    let last = chunks.iter().position(|chunk| {
        name == chunk.name
            || name.ends_with(&format!(" and {}", chunk.name))
            || name.ends_with(&format!(" to {}", chunk.name))
    });
    let (Some(first), Some(last)) = (first, last) else {
        return vec![part_of(chunks, finished)];
    };
    let partial = [Finding::BegunMidway, Finding::BrokenOff];
    let whole = partial.iter().all(|kind| finished.verdict.finding(*kind).is_none());
    let returned = finished.verdict.finding(Finding::Return).is_some();
    let mut told = Vec::new();
    let mut offset = 0;
    for (index, chunk) in chunks.iter().enumerate().take(last + 1).skip(first) {
        let proper = chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count();
        let mut event = 0;
        let mut notes = Vec::new();
        for note in 0..proper {
            if note > 0 && chunk.notes[note].onset != chunk.notes[note - 1].onset {
                event += 1;
            }
            let by = finished.pairing.played(offset + note);
            if let Some(number) = by.and_then(|by| finished.arrival(by)) {
                notes.push((number, Place { chunk: index, event }));
            }
        }
        offset += proper;
        told.push(Told { chunk: index, notes, whole, returned, stranger: false });
    }
    told
}
