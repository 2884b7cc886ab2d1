//! Which notes are a trill's, and whether it is still going on.

use super::events::{Event, Events, Trill};
use super::octaves::scaled;
use super::table::Cell;
use super::{Manner, milliseconds};
use crate::attempt::PlayedNote;

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

impl Events {
    /// Whether a note is one of a trill that is going on after `reached` events, on the way that
    /// led to `above`: not beyond the trill's written end, which nothing else may tell if no
    /// event comes after it.
    pub(super) fn is_trilled(
        &self,
        manner: Manner,
        note: &PlayedNote,
        reached: usize,
        above: &Cell,
        played: &[PlayedNote],
    ) -> bool {
        let Some(trill) = self.trill(note, reached) else { return false };
        if manner == Manner::Stream
            && let [.., before, _] = played
            && milliseconds(note).saturating_sub(milliseconds(before)) > TRILL_STOPS
        {
            return false;
        }
        let Some(last) = self.get(usize::from(above.event)) else { return true };
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
        let Some(trill) = self.trill_after(reached) else { return false };
        let Some(last) = self.get(usize::from(cell.event)) else { return false };
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
