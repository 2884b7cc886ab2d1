//! What is being played: the notes of the attempt under way, and those around it.

use crate::limits::PLAYED_NOTES;
use crate::notes::NoteEvent;
use crate::units::{GuitarString, Instant, Offset, Pitch, Velocity};
use heapless::Vec;

/// One played note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PlayedNote {
    /// When it began, from the first note of the attempt.
    pub at: Offset,
    /// How long it sounded; `None` while it does.
    pub lasted: Option<Offset>,
    /// Its sounding pitch.
    pub pitch: Pitch,
    /// How hard it was struck.
    pub velocity: Velocity,
    /// Its string, where the channel tells.
    pub string: Option<GuitarString>,
}

/// Played notes in order of arrival.
///
/// Times never step back: a note that comes with an earlier time than its predecessor's is
/// taken to have come with it.
#[derive(Clone, Debug, Default)]
pub struct Attempt {
    start: Option<Instant>,
    latest: Instant,
    notes: Vec<PlayedNote, PLAYED_NOTES>,
    beyond: u32,
    forgotten: u32,
}

impl Attempt {
    /// No notes yet.
    pub const fn new() -> Self {
        Self { start: None, latest: Instant::ZERO, notes: Vec::new(), beyond: 0, forgotten: 0 }
    }

    /// Takes a note event that came at `now`. Gives the note that began, if one did and
    /// there was room for it.
    pub fn take(&mut self, event: NoteEvent, now: Instant) -> Option<PlayedNote> {
        let now = if now < self.latest { self.latest } else { now };
        match event {
            NoteEvent::Begun { pitch, velocity, string } => {
                let start = *self.start.get_or_insert(now);
                self.latest = now;
                let at = now.since(start);
                if string.is_some() {
                    // A string sounds one note at a time.
                    self.end(at, |note| note.string == string);
                }
                let note = PlayedNote { at, lasted: None, pitch, velocity, string };
                if self.notes.push(note).is_err() {
                    self.beyond = self.beyond.saturating_add(1);
                    return None;
                }
                Some(note)
            }
            NoteEvent::Ended { pitch, string } => {
                let at = now.since(self.start?);
                self.end(at, |note| note.pitch == pitch && note.string == string);
                None
            }
            NoteEvent::AllEnded => {
                let at = now.since(self.start?);
                for note in self.notes.iter_mut().filter(|note| note.lasted.is_none()) {
                    note.lasted = Some(distance(note.at, at));
                }
                None
            }
        }
    }

    /// The notes, in order of arrival.
    pub fn notes(&self) -> &[PlayedNote] {
        &self.notes
    }

    /// When the first note began.
    pub const fn start(&self) -> Option<Instant> {
        self.start
    }

    /// When the last note began.
    pub const fn latest(&self) -> Instant {
        self.latest
    }

    /// Notes that found no room.
    pub const fn beyond(&self) -> u32 {
        self.beyond
    }

    /// How many notes came before the first of [`notes`](Attempt::notes), since the beginning.
    pub const fn forgotten(&self) -> u32 {
        self.forgotten
    }

    /// Forgets the first `count` notes. Times count from the first that is left.
    pub fn forget(&mut self, count: usize) {
        let count = count.min(self.notes.len());
        let Some(first) = self.notes.get(count).map(|note| note.at) else {
            self.forgotten = self.forgotten.saturating_add(self.notes.len() as u32 + self.beyond);
            self.notes.clear();
            self.beyond = 0;
            self.start = None;
            return;
        };
        self.notes.rotate_left(count);
        self.notes.truncate(self.notes.len() - count);
        for note in &mut self.notes {
            note.at = distance(first, note.at);
        }
        self.start = self.start.map(|start| start.plus(first));
        self.forgotten = self.forgotten.saturating_add(count as u32);
    }

    /// Ends the latest sounding note that `which` tells.
    fn end(&mut self, at: Offset, which: impl Fn(&PlayedNote) -> bool) {
        // Notes end soon after they begin; looking back further than this many would make
        // the work of an event depend on the length of the attempt.
        const LOOK_BACK: usize = 64;
        let note = self
            .notes
            .iter_mut()
            .rev()
            .take(LOOK_BACK)
            .find(|note| note.lasted.is_none() && which(note));
        if let Some(note) = note {
            note.lasted = Some(distance(note.at, at));
        }
    }
}

fn distance(from: Offset, to: Offset) -> Offset {
    Offset::from_micros(to.as_micros().saturating_sub(from.as_micros()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn begun(pitch: u8, string: Option<u8>) -> NoteEvent {
        NoteEvent::Begun {
            pitch: Pitch::new(pitch).unwrap(),
            velocity: Velocity::new(80).unwrap(),
            string: string.and_then(GuitarString::new),
        }
    }

    fn at(millis: u64) -> Instant {
        Instant::from_micros(millis * 1_000)
    }

    #[test]
    fn a_string_ends_its_note_when_it_begins_the_next() {
        let mut attempt = Attempt::new();
        attempt.take(begun(64, Some(1)), at(1_000));
        attempt.take(begun(60, Some(2)), at(1_100));
        attempt.take(begun(65, Some(1)), at(1_200));
        let lasted: std::vec::Vec<_> = attempt.notes().iter().map(|note| note.lasted).collect();
        assert_eq!(lasted, [Some(Offset::from_millis(200)), None, None]);
    }

    #[test]
    fn time_never_steps_back() {
        let mut attempt = Attempt::new();
        attempt.take(begun(64, None), at(1_000));
        let note = attempt.take(begun(65, None), at(900)).unwrap();
        assert_eq!(note.at, Offset::ZERO);
    }

    #[test]
    fn a_full_attempt_counts_what_finds_no_room() {
        let mut attempt = Attempt::new();
        for i in 0..PLAYED_NOTES as u64 + 3 {
            attempt.take(begun(64, None), at(i));
        }
        assert_eq!(attempt.notes().len(), PLAYED_NOTES);
        assert_eq!(attempt.beyond(), 3);
    }

    extern crate std;
}
