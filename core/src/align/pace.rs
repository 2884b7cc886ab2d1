//! What the time of an event costs: how far it is from when it was due, at the tempo of the way
//! that led there, and how far the notes of a chord are apart.

use super::costs::Costs;
use super::events::Event;
use super::octaves::{log2, scaled};
use super::table::Cell;
use super::{SMOOTHING, TEMPO_RANGE, milliseconds};
use crate::attempt::PlayedNote;

/// What is needed to tell the time of an event that begins with a played note.
pub(super) struct Pace<'a> {
    pub(super) costs: &'a Costs,
    pub(super) events: &'a [Event],
    pub(super) played: &'a [PlayedNote],
}

impl<'a> Pace<'a> {
    pub(super) const fn new(
        costs: &'a Costs,
        events: &'a [Event],
        played: &'a [PlayedNote],
    ) -> Self {
        Self { costs, events, played }
    }

    /// When a played note began, in 1,024ths of a second.
    fn began(&self, note: usize) -> u32 {
        self.played.get(note).map_or(0, milliseconds)
    }

    /// The cell reached from `from` by matching an event with the played notes `first` to `last`,
    /// with the cost of their time.
    pub(super) fn of_notes(
        &self,
        from: &Cell,
        index: usize,
        event: &Event,
        first: usize,
        last: usize,
    ) -> Cell {
        let began = self.began(first);
        let mut cell = self.of_first(from, index, event, first, &mut Passed::until(began));
        if !event.rolled && last > first {
            let spread = self.began(last).abs_diff(began);
            let over = spread.saturating_sub(self.costs.spread_free);
            // Real chords stay below that, and the smallest processors cannot divide.
            if over > 0 {
                let price = over / self.costs.spread_for_one;
                cell = cell.dearer(price.min(u32::from(self.costs.spread_at_most)) as u16);
            }
        }
        cell
    }

    /// The same for the first of them, with the time that has `passed` until then.
    pub(super) fn of_first(
        &self,
        from: &Cell,
        index: usize,
        event: &Event,
        first: usize,
        passed: &mut Passed,
    ) -> Cell {
        let mut cell = Cell { event: index as u16, note: first as u16, ..*from };
        let Some(last_matched) = self.events.get(usize::from(from.event)) else {
            // The first event that is matched begins an attempt.
            cell.start = first as u16;
            cell.before = from.cost;
            return cell;
        };
        let passed = passed.since(from.note, self.played);
        let written = event.due.saturating_sub(last_matched.due);
        if from.tempo == Cell::NO_TEMPO {
            cell.tempo = within_range(passed - log2(written + SMOOTHING));
            return cell;
        }
        let tempo = i32::from(from.tempo);
        let predicted = scaled(written, tempo);
        let off = passed - log2(predicted.saturating_add(SMOOTHING));
        let price = (off.unsigned_abs() * u32::from(self.costs.octave_of_time)) >> 8;
        cell.cost = cell.cost.saturating_add((price as u16).min(self.costs.time_at_most));
        cell.tempo = within_range(tempo + believed(off));
        cell
    }
}

/// A small deviation is believed by half, a large one (a pause, or a new tempo) by a quarter: a
/// new tempo is followed within a few notes, a pause is not taken for one.
const fn believed(off: i32) -> i32 {
    // Rounded towards zero by hand: compilers that save space call a division for that.
    let negative = off < 0;
    if off.unsigned_abs() < 128 {
        (off + negative as i32) >> 1
    } else {
        (off + if negative { 3 } else { 0 }) >> 2
    }
}

fn within_range(tempo: i32) -> i16 {
    tempo.clamp(-TEMPO_RANGE, TEMPO_RANGE) as i16
}

/// The time that has passed since a played note, as a logarithm: many ways lead on from the same
/// note, and the smallest processors take long for a logarithm.
pub(super) struct Passed {
    until: u32,
    since: u16,
    log: i32,
}

impl Passed {
    /// Until that time, in 1,024ths of a second.
    pub(super) const fn until(until: u32) -> Self {
        Self { until, since: Cell::NONE, log: 0 }
    }

    fn since(&mut self, note: u16, played: &[PlayedNote]) -> i32 {
        if self.since != note {
            let began = played.get(usize::from(note)).map_or(0, milliseconds);
            self.log = log2(self.until.saturating_sub(began) + SMOOTHING);
            self.since = note;
        }
        self.log
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_and_quarters_are_rounded_towards_zero() {
        for off in -2_000..2_000_i32 {
            let expected = if off.abs() < 128 { off / 2 } else { off / 4 };
            assert_eq!(believed(off), expected, "{off}");
        }
    }
}
