//! The study as one course: the events of all its chunks, one after another.
//!
//! A chunk's session knows one chunk. Where somebody is in the study, and where they went from
//! there, is asked of the course.

use crate::practice::join;
use crate::study::Prepared;
use evenhand_core::study::Marks;
use evenhand_core::units::{Pitch, Ticks};
use std::ops::Range;

/// Notes of one chunk that begin together. Its landing is none: it is the next chunk's.
#[derive(Clone, Debug)]
pub(super) struct Event {
    /// The chunk, by its number in the study.
    pub(super) chunk: usize,
    /// The first of its notes in the chunk.
    pub(super) note: usize,
    /// What is to be played.
    pub(super) pitches: Vec<Pitch>,
    /// The other pitch of a trill that begins here.
    pub(super) trill: Option<Pitch>,
    /// When it is due in the chunk.
    pub(super) onset: Ticks,
    /// Chunks that follow each other on paper have this number in common.
    pub(super) line: usize,
}

/// All events of a study.
#[derive(Clone, Debug)]
pub(super) struct StudyEvents {
    events: Vec<Event>,
    /// The first event of each chunk, and the end.
    starts: Vec<usize>,
    /// For each chunk when it begins, counted along its line.
    begins: Vec<u64>,
}

impl StudyEvents {
    pub(super) fn of(chunks: &[Prepared]) -> Self {
        let mut course = Self { events: Vec::new(), starts: vec![0], begins: Vec::new() };
        let mut line = 0;
        let mut begins = 0;
        for (index, chunk) in chunks.iter().enumerate() {
            let left = index.checked_sub(1).and_then(|left| chunks.get(left));
            match left {
                Some(left) if join::can(left, chunk) => begins += u64::from(left.length.get()),
                _ => (line, begins) = (line + 1, 0),
            }
            course.begins.push(begins);
            course.add(index, chunk, line);
        }
        course
    }

    fn add(&mut self, index: usize, chunk: &Prepared, line: usize) {
        let from = self.events.len();
        let proper = chunk.notes.iter().enumerate();
        for (note, wanted) in proper.filter(|(_, note)| !note.marks.has(Marks::LANDING)) {
            match self.events[from..].last_mut() {
                Some(event) if event.onset == wanted.onset => {
                    event.pitches.push(wanted.pitch);
                    event.trill = event.trill.or(wanted.trill);
                }
                _ => self.events.push(Event {
                    chunk: index,
                    note,
                    pitches: vec![wanted.pitch],
                    trill: wanted.trill,
                    onset: wanted.onset,
                    line,
                }),
            }
        }
        self.starts.push(self.events.len());
    }

    pub(super) fn events(&self) -> &[Event] {
        &self.events
    }

    pub(super) fn event(&self, event: usize) -> Option<&Event> {
        self.events.get(event)
    }

    /// The events of a chunk.
    pub(super) fn chunk(&self, chunk: usize) -> Range<usize> {
        let at = |chunk: usize| self.starts.get(chunk).copied().unwrap_or(self.events.len());
        at(chunk)..at(chunk + 1)
    }

    /// Whether a chunk begins with this event.
    pub(super) fn begins(&self, event: usize) -> bool {
        self.events.get(event).is_some_and(|here| self.chunk(here.chunk).start == event)
    }

    /// Whether a chunk ends with this event.
    pub(super) fn ends(&self, event: usize) -> bool {
        self.events.get(event).is_some_and(|here| self.chunk(here.chunk).end == event + 1)
    }

    /// Whether a chunk ends with this event, and another follows.
    pub(super) fn leads_on(&self, event: usize) -> bool {
        self.ends(event) && self.same_line(event, event + 1)
    }

    /// Whether two events stand in chunks that follow each other on paper.
    pub(super) fn same_line(&self, one: usize, other: usize) -> bool {
        match (self.events.get(one), self.events.get(other)) {
            (Some(one), Some(other)) => one.line == other.line,
            _ => false,
        }
    }

    /// How much is written from one event to a later one of its line.
    pub(super) fn written(&self, from: usize, to: usize) -> Option<Ticks> {
        let place = |event: usize| {
            let event = self.events.get(event)?;
            Some(self.begins.get(event.chunk)? + u64::from(event.onset.get()))
        };
        let ticks = place(to)?.checked_sub(place(from)?)?;
        self.same_line(from, to).then(|| Ticks::new(u32::try_from(ticks).unwrap_or(u32::MAX)))
    }
}
