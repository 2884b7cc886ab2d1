//! Which note begins a trill that another one of the same pitches goes over into.
//!
//! Nothing but time tells. On its way the dynamic programme knows only the events before, and a
//! prediction from them is good for less than a note of a trill. Here the note is taken that is
//! nearest to where the events on both sides put it; but only where these agree with the pace around
//! them. Where time was lost on either side, that would be shared out between them, so the note stays
//! where it is.

use super::costs::is_right;
use super::events::Events;
use super::milliseconds;
use super::pairing::{PairingMut, Role};
use super::together::same_string;
use crate::attempt::PlayedNote;
use crate::sort::sort;
use crate::study::ExpectedNote;
use heapless::Vec;

/// Notes of either trill that far from the beginning may be it: a few turns. Our default.
const TURNS: usize = 8;

/// Events on either side that tell the pace. Our default.
const AROUND: usize = 6;

/// The fewest intervals that tell it. Our default.
const FEWEST: usize = 3;

/// The events on both sides may be so far from that pace, in 1,024ths of a second: half a note of a
/// trill of eight a second. Our default.
const AGREE: u32 = 64;

pub(super) fn settle(
    events: &Events,
    notes: &[ExpectedNote],
    played: &[PlayedNote],
    pairing: &mut PairingMut<'_>,
) {
    if !events.has_trills() {
        return;
    }
    for (index, wanted) in notes.iter().enumerate() {
        let event = events.event_of(index);
        let is_alone = events.get(event).is_some_and(|event| event.size == 1);
        let Some(by) = pairing.played(index).filter(|_| is_alone && wanted.trill.is_some()) else {
            continue;
        };
        // Both must be able to be one of the trill before.
        let may_begin = |other: &usize| {
            played.get(*other).is_some_and(|note| {
                is_right(wanted, note)
                    && same_string(wanted, note) != Some(false)
                    && events.trill(note, event).is_some()
                    && (*other == by || pairing.role(*other) == Role::Extra)
            })
        };
        let beginnings = Beginnings { events, played, pairing };
        let Some(due) = beginnings.due(event).filter(|_| may_begin(&by)) else { continue };
        let off = |other: &usize| played.get(*other).map(|note| milliseconds(note).abs_diff(due));
        let near = by.saturating_sub(TURNS)..played.len().min(by + 1 + TURNS);
        let nearest = near.filter(may_begin).min_by_key(|other| (off(other), other.abs_diff(by)));
        if let Some(nearest) = nearest.filter(|&nearest| nearest != by) {
            pairing.replace(index, nearest);
        }
    }
}

struct Beginnings<'a> {
    events: &'a Events,
    played: &'a [PlayedNote],
    pairing: &'a PairingMut<'a>,
}

impl Beginnings<'_> {
    /// When an event was due between the events on both sides, if they agree with the pace.
    fn due(&self, event: usize) -> Option<u32> {
        let own = self.events.get(event)?.due;
        let before = (0..event).rev().find_map(|event| self.place(event))?;
        let after = (event + 1..self.events.len()).find_map(|event| self.place(event))?;
        let written = u64::from(after.0.saturating_sub(before.0).max(1));
        let apart = after.1.saturating_sub(before.1);
        let expected = (written * u64::from(self.pace(event)?)) >> 10;
        if u64::from(apart).abs_diff(expected) > u64::from(AGREE) {
            return None;
        }
        let since = u64::from(own.saturating_sub(before.0)) * u64::from(apart) / written;
        Some(before.1.saturating_add(since as u32))
    }

    /// The pace around an event, itself left out: the median of time passed over time written, in
    /// 1,024ths.
    fn pace(&self, event: usize) -> Option<u32> {
        let mut paces: Vec<i32, { 2 * AROUND }> = Vec::new();
        let mut last: Option<(u32, u32)> = None;
        for other in event.saturating_sub(AROUND)..=event + AROUND {
            if other == event {
                last = None;
                continue;
            }
            let Some(place) = self.place(other) else { continue };
            if let Some(last) = last {
                let written = place.0.saturating_sub(last.0).max(1);
                let pace = (place.1.saturating_sub(last.1) << 10) / written;
                let _ = paces.push(i32::try_from(pace).unwrap_or(i32::MAX));
            }
            last = Some(place);
        }
        if paces.len() < FEWEST {
            return None;
        }
        sort(&mut paces);
        u32::try_from(*paces.get(paces.len() / 2)?).ok()
    }

    /// When an event is written and when its first note was played, if it was.
    fn place(&self, event: usize) -> Option<(u32, u32)> {
        let event = self.events.get(event)?;
        let notes = event.indices().filter_map(|note| self.played.get(self.pairing.played(note)?));
        Some((event.due, notes.map(milliseconds).min()?))
    }
}
