//! From a piece to the few notes of it that fail, and back outward into the piece.

use super::Practice;
use super::entry::Entry;
use crate::practice::event_results::EventResults;
use crate::practice::piece::{Piece, Spot};
use crate::practice::place_record::HardPlace;
use crate::practice::rules::{ADDED_UP_EVENTS, FIRST_BIT, SPOT_GROWS, SPOT_REACHES};
use crate::practice::step::{PracticeVariant, Reason, Step, Task};
use crate::units::Seconds;

impl<const PIECES: usize> Practice<PIECES> {
    /// Narrows practice to the hard place of the piece that was played, if it has one. `asked` is what was
    /// played.
    pub(super) fn narrow(
        &mut self,
        index: usize,
        asked: Task,
        results: &EventResults,
        now: Seconds,
    ) -> Option<Step> {
        if self.current != Some(index) || asked.way != PracticeVariant::AsWritten {
            return None;
        }
        let HardPlace { event, failed, tries, events } = self.record.hardest(results)?;
        let from = event.saturating_sub(SPOT_REACHES);
        let to = event.saturating_add(SPOT_REACHES);
        // What is nearly the whole is no spot.
        if events <= 2 * SPOT_REACHES + 3 {
            return None;
        }
        let whole = *self.entries.get(index)?;
        let piece = Piece::Spot(Spot::of(whole.piece, from, to)?);
        let at = self.put_spot(whole.spot(piece, asked.tempo))?;
        self.entries.get_mut(index)?.asleep = true;
        (self.spot_events, self.spot_asked) = (events, Some(asked.tempo));
        self.record.clear();
        // The attempt can still be taken back, and practice then goes back to the whole.
        let before = self.before.clone();
        let step = self.take(at, now, Some(Reason::Spot { event, failed, tries }));
        self.before = before;
        Some(step)
    }

    /// Puts the spot in, in place of the one before, of which the whole is practised again.
    fn put_spot(&mut self, spot: Entry) -> Option<usize> {
        let old = self.entries.iter().position(|entry| matches!(entry.piece, Piece::Spot(_)));
        let Some(old) = old else { return self.push(spot).ok() };
        if let Some(whole) = self.whole_of(old)
            && let Some(entry) = self.entries.get_mut(whole)
        {
            entry.asleep = false;
        }
        let entry = self.entries.get_mut(old)?;
        *entry = spot;
        if self.own_tempo {
            entry.stairs.hold();
        }
        Some(old)
    }

    /// Whether a piece can be added up from its beginning, which is done where it cannot be halved: it has to
    /// have been played, so that its events are known.
    pub(super) fn can_add_up(&self, entry: &Entry) -> bool {
        matches!(entry.piece, Piece::Chunk(_) | Piece::Half(..))
            && !entry.splits
            && self.record.events_of(entry.piece).is_some_and(|events| events >= ADDED_UP_EVENTS)
    }

    /// Gives the first few events of a piece, from which it grows until it is the piece again.
    pub(super) fn add_up(&mut self, index: usize) -> Option<usize> {
        let whole = *self.entries.get(index).filter(|entry| self.can_add_up(entry))?;
        let events = self.record.events_of(whole.piece)?;
        let tempo = whole.stairs.tempo();
        let first = Piece::Spot(Spot::of(whole.piece, 0, FIRST_BIT.saturating_sub(1))?);
        let mut bit = whole.shorter(first);
        bit.stairs = whole.stairs.up_to(tempo, *whole.stairs.rules());
        let at = self.put_spot(bit)?;
        self.entries.get_mut(index)?.asleep = true;
        (self.spot_events, self.spot_asked) = (events, Some(tempo));
        self.record.clear();
        Some(at)
    }

    /// The piece that a spot is in.
    pub(super) fn whole_of(&self, index: usize) -> Option<usize> {
        let Piece::Spot(spot) = self.entries.get(index)?.piece else { return None };
        self.entries.iter().position(|entry| spot.is_in(entry.piece))
    }

    /// A spot that is clean grows outward, until it is the piece again.
    pub(super) fn grow(&mut self, index: usize, now: Seconds) -> Option<Step> {
        let entry = self.entries.get(index)?;
        let Piece::Spot(spot) = entry.piece else { return None };
        let at = self.spot_asked.unwrap_or_else(|| entry.stairs.goal());
        let from = spot.from.saturating_sub(SPOT_GROWS);
        let to = spot.to.saturating_add(SPOT_GROWS);
        // Once all but a note or two are in it, it may as well be the whole.
        if from == 0 && to.saturating_add(2) >= self.spot_events {
            let whole = self.whole_of(index)?;
            if let Some(entry) = self.entries.get_mut(index) {
                entry.asleep = true;
            }
            if let Some(entry) = self.entries.get_mut(whole) {
                entry.asleep = false;
                entry.stairs.begin_at(at);
            }
            return Some(self.take(whole, now, Some(Reason::SpotDone)));
        }
        let grown = entry.grown(Piece::Spot(Spot { from, to, ..spot }), at);
        if let Some(entry) = self.entries.get_mut(index) {
            *entry = grown;
            if self.own_tempo {
                entry.stairs.hold();
            }
        }
        Some(self.take(index, now, Some(Reason::SpotGrows)))
    }
}
