//! Two neighbours that changed places where the line comes back to a pitch.
//!
//! The dynamic programme keeps events in order. Of A A B that is played A B A it calls one A
//! missing and another one extra, and pairs what lies between with the notes one place along. If
//! those notes are the written ones in their order but for two neighbours, and keep time so, it
//! was those two that changed places.
//!
//! Chords are left alone: the second look finds their notes one by one.

use super::costs::is_right;
use super::events::Events;
use super::milliseconds;
use super::pace::Evenness;
use super::pairing::{PairingMut, Role};
use super::together::same_string;
use crate::attempt::PlayedNote;
use crate::study::ExpectedNote;
use core::ops::Range;

/// Events from the one that seems to be missing to the note that seems to be extra, at most. Our
/// default: a bar of sixteenths.
const AT_MOST: usize = 16;

/// How much more the pace may change, in 256ths of an octave, where two notes that changed places
/// explain what would be a missing one and an extra one. Our default: what the unsteadiness of
/// two hands does to an interval.
const UNSTEADY: i32 = 128;

pub(super) fn settle(
    events: &Events,
    notes: &[ExpectedNote],
    played: &[PlayedNote],
    pairing: &mut PairingMut<'_>,
) {
    let mut line = Line { events, notes, played, pairing };
    for event in 0..events.len() {
        let stretches = match line.single(event) {
            Some(None) => [line.to_extra_after(event), line.to_extra_before(event)],
            Some(Some(by)) => [line.and_the_next(event, by), None],
            None => continue,
        };
        for stretch in stretches.into_iter().flatten() {
            if let Some(at) = line.exchange(stretch)
                && line.is_as_even(stretch)
            {
                line.put_in_order(stretch, at);
                break;
            }
        }
    }
}

/// Events in a row and as many played notes in a row.
#[derive(Clone, Copy)]
struct Stretch {
    event: usize,
    note: usize,
    length: usize,
}

impl Stretch {
    fn events(self) -> Range<usize> {
        self.event..self.event + self.length
    }

    /// The note that has the place of an event.
    fn note_at(self, event: usize) -> Option<usize> {
        self.events().contains(&event).then(|| self.note + (event - self.event))
    }
}

struct Line<'a, 'p> {
    events: &'a Events,
    notes: &'a [ExpectedNote],
    played: &'a [PlayedNote],
    pairing: &'a mut PairingMut<'p>,
}

impl Line<'_, '_> {
    /// The played note of an event of one note, if it was played; `None` for chords.
    fn single(&self, event: usize) -> Option<Option<usize>> {
        let event = self.events.get(event).filter(|event| event.size == 1)?;
        Some(self.pairing.played(event.first.into()))
    }

    /// An event and the one behind it, both with wrong notes as far as this says.
    fn and_the_next(&self, event: usize, note: usize) -> Option<Stretch> {
        let next = usize::from(self.events.get(event + 1)?.first);
        let is_free = match self.pairing.role(note + 1) {
            Role::Note(of) => of == next,
            Role::Extra => note + 1 < self.played.len(),
            Role::Trill(_) => false,
        };
        is_free.then_some(Stretch { event, note, length: 2 })
    }

    /// From a missing event to the extra note behind the events that follow it.
    fn to_extra_after(&self, missing: usize) -> Option<Stretch> {
        let note = self.single(missing + 1)??;
        for length in 2..=AT_MOST {
            if self.single(missing + length - 1)?? != note + length - 2 {
                return None;
            }
            let next = note + length - 1;
            if next < self.played.len() && self.pairing.role(next) == Role::Extra {
                return Some(Stretch { event: missing, note, length });
            }
        }
        None
    }

    /// The same backwards.
    fn to_extra_before(&self, missing: usize) -> Option<Stretch> {
        let last = self.single(missing.checked_sub(1)?)??;
        for length in 2..=AT_MOST {
            let event = missing.checked_sub(length - 1)?;
            let note = last.checked_sub(length - 2)?;
            if self.single(event)?? != note {
                return None;
            }
            let note = note.checked_sub(1)?;
            if self.pairing.role(note) == Role::Extra {
                return Some(Stretch { event, note, length });
            }
        }
        None
    }

    /// The first of two neighbouring events that changed places, if that is all there is.
    fn exchange(&self, stretch: Stretch) -> Option<usize> {
        let is = |event: usize, by: usize| {
            let event = self.events.get(event).filter(|event| event.size == 1)?;
            let wanted = self.notes.get(usize::from(event.first))?;
            let note = self.played.get(by)?;
            Some(is_right(wanted, note) && same_string(wanted, note) != Some(false))
        };
        let wrong =
            |event: &usize| stretch.note_at(*event).and_then(|by| is(*event, by)) != Some(true);
        let at = stretch.events().find(wrong)?;
        let by = stretch.note_at(at)?;
        let changed = is(at, by + 1)? && is(at + 1, by)?;
        let only =
            stretch.events().skip_while(|event| *event <= at + 1).all(|event| !wrong(&event));
        (changed && only && stretch.events().contains(&(at + 1))).then_some(at)
    }

    /// Whether the notes keep time about as well in their order as they do where they are.
    fn is_as_even(&self, stretch: Stretch) -> bool {
        let Stretch { event, length, .. } = stretch;
        let (mut now, mut then) = (Evenness::START, Evenness::START);
        for event in event.saturating_sub(2)..(event + length + 2).min(self.events.len()) {
            let Some(due) = self.events.get(event).map(|event| event.due) else { continue };
            let at = |by: Option<usize>| by.and_then(|by| self.played.get(by)).map(milliseconds);
            let by = self.single(event).flatten();
            now.take(at(by), due);
            then.take(at(stretch.note_at(event).or(by)), due);
        }
        then.changes() <= now.changes() + UNSTEADY
    }

    fn put_in_order(&mut self, stretch: Stretch, at: usize) {
        let first = |event: usize| self.events.get(event).map(|event| usize::from(event.first));
        for note in stretch.events().filter_map(first) {
            self.pairing.part(note);
        }
        for event in stretch.events() {
            let to = if event == at {
                at + 1
            } else if event == at + 1 {
                at
            } else {
                event
            };
            if let (Some(note), Some(by)) = (first(to), stretch.note_at(event)) {
                self.pairing.pair(note, by);
            }
        }
    }
}
