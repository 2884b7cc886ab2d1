//! Which notes are a trill's, and whether it is still going on.

use super::costs::is_right;
use super::events::{Event, Events, Trill};
use super::octaves::scaled;
use super::pairing::{Pairing, Role};
use super::second_look::due;
use super::table::Cell;
use super::together::same_string;
use super::{Aligner, Manner, milliseconds};
use crate::attempt::PlayedNote;
use crate::study::Chunk;

/// The last note of a trill begins at least so long before the trill's written end, in
/// milliseconds: half a note of a trill of eight a second. Our default.
const LAST_TRILLED: u32 = 60;

/// Where the music goes on, a trill may go on beyond its written end by this part of the time since
/// the event before: the next event ends it, and the pace up to that is not known to the note. Our
/// default.
const BEYOND: u32 = 4;

/// A trill surely goes on if so much of it is written to come, in milliseconds: players who loop
/// a chunk begin again a little before its end. Our default.
const SURELY: u32 = 400;

/// After this silence, in milliseconds, what has the pitch of a stream's trill may be its
/// beginning: nobody trills slower than five notes in two seconds. Our default.
const TRILL_STOPS: u32 = 400;

/// Where one trill goes over into the next, notes of either that far from its beginning may be it: a
/// few turns. Our default.
const TURNS: usize = 8;

/// A trill that pauses for more than so many of its notes did not go on: whatever comes then begins
/// the next. Our default.
const PAUSES: u32 = 2;

/// Where a trill begins while one of the same pitches is going on, nothing but time tells which note
/// begins it: the one nearest to when it was due between the events around it. On its way the
/// dynamic programme knows only those before, and a prediction from them is good for less than a
/// note of a trill.
pub(super) fn settle(
    events: &Events,
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pairing: &mut Pairing,
) {
    if !events.has_trills() {
        return;
    }
    for (index, wanted) in chunk.notes().iter().enumerate() {
        let event = events.event_of(index);
        let is_alone = events.get(event).is_some_and(|event| event.size == 1);
        let Some(by) = pairing.played(index).filter(|_| is_alone && wanted.trill.is_some()) else {
            continue;
        };
        let Some((due, ..)) = due(events, played, pairing, index) else { continue };
        // The notes of the trill before, and those that may be: not beyond a pause.
        let at = |other: usize| played.get(other).map_or(0, milliseconds);
        let goes_on = |other: &usize| {
            let note = played.get(*other).filter(|note| events.trill(note, event).is_some());
            note.is_some() && (*other == by || pairing.role(*other) == Role::Extra)
        };
        if !goes_on(&by) {
            continue;
        }
        let before = (by.saturating_sub(TURNS)..by).rev().filter(goes_on);
        let after = (by + 1..played.len().min(by + 1 + TURNS)).filter(goes_on);
        let nearest_gap = |others: &mut dyn Iterator<Item = usize>| {
            others.next().map(|other| at(other).abs_diff(at(by)))
        };
        // It pauses where a gap is longer than two of the shorter of those on either side.
        let (gap_before, gap_after) =
            (nearest_gap(&mut before.clone()), nearest_gap(&mut after.clone()));
        let Some(gap) = gap_before.into_iter().chain(gap_after).min() else { continue };
        let begins = |other: &usize| {
            played.get(*other).is_some_and(|note| {
                is_right(wanted, note) && same_string(wanted, note) != Some(false)
            })
        };
        let off = |other: &usize| at(*other).abs_diff(due);
        let mut nearest = by;
        for side in [&mut before.clone() as &mut dyn Iterator<Item = usize>, &mut after.clone()] {
            let mut last = at(by);
            for other in side {
                if at(other).abs_diff(last) > PAUSES * gap {
                    break;
                }
                last = at(other);
                if begins(&other) && off(&other) < off(&nearest) {
                    nearest = other;
                }
            }
        }
        if nearest != by {
            pairing.part(index);
            pairing.pair(index, nearest);
        }
    }
}

impl Aligner {
    /// Whether a note is one of a trill that is going on after `reached` events, on the way that
    /// led to `above`: not beyond the trill's written end, which nothing else may tell if no
    /// event comes after it.
    pub(super) fn is_trilled(
        &self,
        note: &PlayedNote,
        reached: usize,
        above: &Cell,
        played: &[PlayedNote],
    ) -> bool {
        let Some(trill) = self.events.trill(note, reached) else { return false };
        if self.manner == Manner::Stream
            && let [.., before, _] = played
            && milliseconds(note).saturating_sub(milliseconds(before)) > TRILL_STOPS
        {
            return false;
        }
        let Some(last) = self.events.get(usize::from(above.event)) else { return true };
        let by = milliseconds(note) + LAST_TRILLED;
        let goes_on = usize::from(trill.events.1) < self.proper;
        let beyond = |left: u32| if goes_on { left / BEYOND } else { 0 };
        above.tempo == Cell::NO_TEMPO || is_before_its_end(&trill, &last, above, played, by, beyond)
    }

    /// Whether a trill is written to go on at `now`, after `reached` events on the way that led
    /// to `cell`: the attempt is not at its end then, and what comes is not the next one so soon.
    pub(super) fn trill_goes_on(
        &self,
        now: u32,
        reached: usize,
        cell: &Cell,
        played: &[PlayedNote],
    ) -> bool {
        // A landing that has not come ends nothing.
        let reached = reached.min(self.proper.max(usize::from(cell.event) + 1));
        let Some(trill) = self.events.trill_after(reached) else { return false };
        let Some(last) = self.events.get(usize::from(cell.event)) else { return false };
        cell.tempo != Cell::NO_TEMPO
            && is_before_its_end(trill, &last, cell, played, now + SURELY, |_| 0)
    }
}

/// Whether `now` is before the written end of a trill, after the event `last` on the way that led
/// to `cell`, or no further beyond it than `beyond` says of the time between.
fn is_before_its_end(
    trill: &Trill,
    last: &Event,
    cell: &Cell,
    played: &[PlayedNote],
    now: u32,
    beyond: impl Fn(u32) -> u32,
) -> bool {
    let left = scaled(trill.until.saturating_sub(last.due), cell.tempo.into());
    let from = played.get(usize::from(cell.note)).map_or(0, milliseconds);
    now.saturating_sub(from) <= left + beyond(left)
}
