//! The chunk as the alignment sees it: events, that is, notes that begin together.

use crate::attempt::PlayedNote;
use crate::study::{Chunk, ExpectedNote, Marks};
use crate::units::{GuitarString, Pitch, Ticks};
use core::ops::Range;
use heapless::{Vec, VecView};

/// Microseconds are divided by 1,024 here, once: a "millisecond" that costs a shift.
pub(super) const MILLI_SHIFT: u32 = 10;

/// A trill that is going on while an event passes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Trill {
    /// The expected note that starts it.
    pub(super) note: u16,
    pitches: (Pitch, Pitch),
    string: Option<GuitarString>,
    /// From the event of its start, while fewer than this many events have been reached.
    pub(super) events: (u16, u16),
    /// Its written end at the practised tempo, in 1,024ths of a second.
    pub(super) until: u32,
}

impl Trill {
    /// Whether a played note may be one of its notes: of its pitches and not on another string,
    /// or on its string and mistaken for one of them by the converter.
    fn has(&self, note: &PlayedNote) -> bool {
        let here = match (self.string, note.string) {
            (Some(own), Some(other)) if own != other => return false,
            (own, other) => own.is_some() && other.is_some(),
        };
        [self.pitches.0, self.pitches.1]
            .into_iter()
            .any(|pitch| note.pitch == pitch || (here && note.pitch.is_partial_of(pitch)))
    }
}

/// Trills in one chunk that the alignment follows, at most. A chunk of two bars has one or
/// two; further ones are treated as plain notes.
const TRILLS: usize = 8;

#[derive(Clone, Copy, Debug)]
pub(super) struct Event {
    /// Its first note.
    pub(super) first: u16,
    /// How many notes begin together.
    pub(super) size: u8,
    /// What else is true of it, a bit each: eight bytes an event are enough.
    flags: u8,
    /// When it is due at the practised tempo, in 1,024ths of a second.
    pub(super) due: u32,
}

const LANDING: u8 = 1;
const ROLLED: u8 = 1 << 1;
const AGAIN: u8 = 1 << 2;

impl Event {
    /// Whether it is only the landing on the next chunk.
    pub(super) const fn is_landing(self) -> bool {
        self.flags & LANDING != 0
    }

    pub(super) const fn is_rolled(self) -> bool {
        self.flags & ROLLED != 0
    }

    /// Whether it is the chord of the event before once more.
    pub(super) const fn is_repeated(self) -> bool {
        self.flags & AGAIN != 0
    }

    /// The most played notes that one event explains: its size, and two more that do not
    /// belong, so that a stray note inside a chord does not tear it apart.
    #[inline(always)]
    pub(super) const fn most_notes(self) -> usize {
        if self.size < 2 { 1 } else { self.size as usize + 2 }
    }

    /// The indices of its notes.
    pub(super) fn indices(self) -> Range<usize> {
        let first = usize::from(self.first);
        first..first + usize::from(self.size)
    }

    /// Its notes among those of the chunk.
    #[inline(always)]
    pub(super) fn notes(self, all: &[ExpectedNote]) -> &[ExpectedNote] {
        let first = usize::from(self.first);
        all.get(first..first + usize::from(self.size)).unwrap_or(&[])
    }
}

/// The events of a chunk. In its place the list has a capacity; what reads it has a view.
#[derive(Clone, Debug)]
pub(super) struct Events<L: ?Sized = VecView<Event>> {
    trills: Vec<Trill, TRILLS>,
    /// Events before the landing.
    pub(super) proper: usize,
    list: L,
}

impl<const EXPECTED: usize> Events<Vec<Event, EXPECTED>> {
    pub(super) const NONE: Self = Self { trills: Vec::new(), proper: 0, list: Vec::new() };
}

/// The events of any chunk.
#[cfg(test)]
pub(super) type Full = Events<Vec<Event, { crate::limits::EXPECTED_NOTES }>>;

#[cfg(test)]
impl Full {
    pub(super) fn of(chunk: &Chunk<'_>) -> Self {
        let mut events = Self::NONE;
        let view: &mut Events = &mut events;
        view.read(chunk);
        events
    }
}

impl Events {
    /// Forgets what is here and takes the events of `chunk`. In its place: there is no room to
    /// copy it from elsewhere.
    pub(super) fn read(&mut self, chunk: &Chunk<'_>) {
        let list = &mut self.list;
        list.clear();
        let mut onset = None;
        for (index, note) in chunk.notes().iter().enumerate() {
            let rolled = if note.marks.has(Marks::ROLLED) { ROLLED } else { 0 };
            if onset == Some(note.onset) {
                if let Some(event) = list.last_mut() {
                    event.size += 1;
                    event.flags |= rolled;
                }
                continue;
            }
            onset = Some(note.onset);
            let due = chunk.tempo().lasting(note.onset).as_micros() >> MILLI_SHIFT;
            // There is room: whoever takes a chunk has made sure.
            let _ = list.push(Event {
                first: index as u16,
                size: 1,
                flags: rolled | if note.marks.has(Marks::LANDING) { LANDING } else { 0 },
                due: due.unsigned_abs(),
            });
        }
        mark_repeated(list, chunk.notes());
        self.trills = trills(chunk, list);
        self.proper = list.iter().filter(|event| !event.is_landing()).count();
    }

    #[inline(always)]
    pub(super) fn list(&self) -> &[Event] {
        &self.list
    }

    pub(super) fn len(&self) -> usize {
        self.list.len()
    }

    /// How many notes all events have together.
    pub(super) fn notes_in_all(&self) -> usize {
        self.list.last().map_or(0, |last| usize::from(last.first) + usize::from(last.size))
    }

    pub(super) fn get(&self, index: usize) -> Option<Event> {
        self.list.get(index).copied()
    }

    /// The event that an expected note belongs to.
    pub(super) fn event_of(&self, note: usize) -> usize {
        self.list.partition_point(|event| usize::from(event.first) <= note).saturating_sub(1)
    }

    /// The trill that is written to go on when `reached` events are behind.
    pub(super) fn trill_after(&self, reached: usize) -> Option<&Trill> {
        self.trills.iter().rev().find(|trill| {
            usize::from(trill.events.0) < reached && reached <= usize::from(trill.events.1)
        })
    }

    /// The trill that a played note belongs to, when `reached` events are
    /// behind.
    pub(super) fn trill(&self, note: &PlayedNote, reached: usize) -> Option<Trill> {
        self.trills.iter().copied().find(|trill| {
            trill.has(note)
                && (usize::from(trill.events.0) < reached && reached <= usize::from(trill.events.1))
        })
    }

    /// Whether a played note may be one of any trill in the chunk.
    pub(super) fn is_in_trills(&self, note: &PlayedNote) -> bool {
        self.trills.iter().any(|trill| trill.has(note))
    }

    pub(super) fn has_trills(&self) -> bool {
        !self.trills.is_empty()
    }
}

/// Says of each event whether it has the notes of the one before.
fn mark_repeated(list: &mut [Event], notes: &[ExpectedNote]) {
    let same = |(a, b): (&ExpectedNote, &ExpectedNote)| {
        a.pitch == b.pitch && a.string == b.string && a.attack == b.attack
    };
    let mut before: &[ExpectedNote] = &[];
    for event in list {
        let these = event.notes(notes);
        if before.len() == these.len() && before.iter().zip(these).all(same) {
            event.flags |= AGAIN;
        }
        before = these;
    }
}

fn trills(chunk: &Chunk<'_>, events: &[Event]) -> Vec<Trill, TRILLS> {
    let notes = chunk.notes();
    let onset_of =
        |event: &Event| notes.get(usize::from(event.first)).map_or(Ticks::ZERO, |note| note.onset);
    notes
        .iter()
        .enumerate()
        .filter_map(|(index, note)| {
            let other = note.trill?;
            let end = note.onset.plus(note.duration);
            let from = events.partition_point(|event| onset_of(event) < note.onset);
            // The last event that begins before the trill ends, counted as reached.
            let to = events.partition_point(|event| onset_of(event) < end);
            Some(Trill {
                note: index as u16,
                pitches: (note.pitch, other),
                string: note.string,
                events: (from as u16, to as u16),
                until: chunk.tempo().lasting(end).as_micros().unsigned_abs() >> MILLI_SHIFT,
            })
        })
        .take(TRILLS)
        .collect()
}
