//! What the time of an event costs: how far it is from when it was due, at the tempo of the way
//! that led there, and how far the notes of a chord are apart.

use super::costs::Costs;
use super::events::Event;
use super::octaves::{log2, scaled};
use super::table::Cell;
use super::{SMOOTHING, TEMPO_RANGE, milliseconds};
use crate::attempt::PlayedNote;

/// The pace at which ways lead on to an event that begins with a certain played note.
pub(super) struct Pace<'a> {
    costs: &'a Costs,
    events: &'a [Event],
    played: &'a [PlayedNote],
    /// The played note, and when it began, in 1,024ths of a second.
    first: usize,
    began: u32,
    /// The time that has passed since a played note, as a logarithm: many ways lead on from the
    /// same note, and the smallest processors take long for a logarithm.
    since: u16,
    passed: i32,
}

/// What an event's time costs, and the tempo that is believed from then on.
pub(super) struct Time {
    pub(super) price: u16,
    pub(super) tempo: i16,
}

impl<'a> Pace<'a> {
    /// That of events that begin with the played note `first`.
    pub(super) fn of(
        costs: &'a Costs,
        events: &'a [Event],
        played: &'a [PlayedNote],
        first: usize,
    ) -> Self {
        let began = played.get(first).map_or(0, milliseconds);
        Self { costs, events, played, first, began, since: Cell::NONE, passed: 0 }
    }

    /// The time of `event` on the way from `from`; `None` if it surely costs more than `room`.
    pub(super) fn time(&mut self, from: &Cell, event: &Event, room: u16) -> Option<Time> {
        let Some(last) = self.events.get(usize::from(from.event)) else {
            // The first event that is matched begins an attempt.
            return Some(Time { price: 0, tempo: from.tempo });
        };
        let last_began = self.played.get(usize::from(from.note)).map_or(0, milliseconds);
        let passed = self.began.saturating_sub(last_began) + SMOOTHING;
        let written = event.due.saturating_sub(last.due);
        if from.tempo == Cell::NO_TEMPO {
            let slower = self.log_passed(from.note, passed) - log2(written + SMOOTHING);
            let tempo = within_range(slower);
            // Any tempo will do; but of two explanations that are equal else, the one that is
            // nearer to the practised tempo is kept.
            let price = (tempo.unsigned_abs() * self.costs.octave_of_time) >> 11;
            return Some(Time { price, tempo });
        }
        let tempo = i32::from(from.tempo);
        let predicted = scaled(written, tempo).saturating_add(SMOOTHING);
        // An octave and more: most ways that lead nowhere are told by that, without a logarithm.
        if room < self.costs.octave_of_time.min(self.costs.time_at_most)
            && (passed >> 1 >= predicted || predicted >> 1 >= passed)
        {
            return None;
        }
        let off = self.log_passed(from.note, passed) - log2(predicted);
        let price = (off.unsigned_abs() * u32::from(self.costs.octave_of_time)) >> 8;
        let price = (price as u16).min(self.costs.time_at_most);
        Some(Time { price, tempo: within_range(tempo + believed(off)) })
    }

    fn log_passed(&mut self, since: u16, passed: u32) -> i32 {
        if self.since != since {
            (self.since, self.passed) = (since, log2(passed));
        }
        self.passed
    }

    /// What it costs that the notes of a chord came apart, the last one being `last`.
    pub(super) fn spread(&self, event: &Event, last: usize) -> u16 {
        if event.is_rolled() || last <= self.first {
            return 0;
        }
        let spread = self.played.get(last).map_or(0, milliseconds).abs_diff(self.began);
        let over = spread.saturating_sub(self.costs.spread_free);
        // Real chords stay below that, and the smallest processors cannot divide.
        if over == 0 {
            return 0;
        }
        (over / self.costs.spread_for_one).min(u32::from(self.costs.spread_at_most)) as u16
    }
}

/// How much the pace changes from one interval to the next, summed over events in their order.
pub(super) struct Evenness {
    changes: i32,
    before: Option<(u32, u32)>,
    pace: Option<i32>,
}

impl Evenness {
    pub(super) const START: Self = Self { changes: 0, before: None, pace: None };

    /// So far, in 256ths of an octave.
    pub(super) const fn changes(&self) -> i32 {
        self.changes
    }

    /// The next event: when it was played, if it was, and when it was due; in 1,024ths of a
    /// second.
    pub(super) fn take(&mut self, at: Option<u32>, due: u32) {
        let Some(at) = at else { return };
        if let Some((at_before, due_before)) = self.before {
            let passed = log2(at.saturating_sub(at_before) + SMOOTHING);
            let written = log2(due.saturating_sub(due_before) + SMOOTHING);
            let now = passed - written;
            if let Some(pace) = self.pace {
                // Each is some thousands at most, and nobody sums up a thousand.
                self.changes += (now - pace).abs();
            }
            self.pace = Some(now);
        }
        self.before = Some((at, due));
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
