//! One row of the alignment: what a played note can be.

use super::costs::Costs;
use super::events::{Event, Trill};
use super::octaves::{log2, scaled};
use super::table::{Cell, Column, Step};
use super::together::{Fit, Glance, MOST, fit_one};
use super::{Aligner, Best, Manner, SMOOTHING, TEMPO_RANGE, milliseconds};
use crate::attempt::PlayedNote;
use crate::limits::PLAYED_NOTES;
use crate::study::{Chunk, ExpectedNote};

/// The last note of a trill begins at least so long before the trill's written end, in
/// milliseconds: half a note of a trill of eight a second. Our default.
const LAST_TRILLED: u32 = 60;

/// A trill surely goes on if so much of it is written to come, in milliseconds: players who loop
/// a chunk begin again a little before its end. Our default.
const SURELY: u32 = 400;

/// After this silence, in milliseconds, what has the pitch of a stream's trill may be its
/// beginning: nobody trills slower than five notes in two seconds. Our default.
const TRILL_STOPS: u32 = 400;

/// The cheapest way for what was under way to be over.
#[derive(Clone, Copy)]
struct Over {
    cost: u16,
    /// Who plays a chunk again plays it at much the same tempo.
    tempo: i16,
}

impl Over {
    /// An attempt that reached its end is over for little; one that breaks off pays.
    fn consider(&mut self, costs: &Costs, cell: Cell, reached_its_end: bool) {
        let price = if reached_its_end { costs.end } else { costs.break_off };
        // Nothing is over that has not begun.
        let cost = cell.cost.saturating_add(price);
        if cell.event != Cell::NONE && cost < self.cost {
            *self = Self { cost, tempo: cell.tempo };
        }
    }
}

/// What the last few played notes cost as the notes of a chord. Kept for the next one if that
/// is the same chord again, as in strumming, where every one of them could be meant.
#[derive(Default)]
struct Chord<'c> {
    notes: &'c [ExpectedNote],
    glance: Option<Glance>,
    /// For one played note, for two, and so on; [`u16::MAX`] where they do not fit at all.
    fits: [Option<u16>; MOST],
}

impl<'c> Chord<'c> {
    fn look_at(&mut self, notes: &'c [ExpectedNote], has_trills: bool) {
        let same = |(a, b): (&ExpectedNote, &ExpectedNote)| {
            a.pitch == b.pitch && a.string == b.string && a.attack == b.attack
        };
        let is_same = self.notes.len() == notes.len() && self.notes.iter().zip(notes).all(same);
        // A trill goes on over some events only.
        if !is_same || has_trills {
            *self = Self { notes, ..Self::default() };
        }
    }
}

impl Aligner {
    /// Takes the last of `played`, which holds all that was played since the beginning. Notes
    /// beyond [`PLAYED_NOTES`] are not aligned.
    pub fn push(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote]) {
        let row = played.len();
        if row == 0 || row > PLAYED_NOTES || row != self.rows + 1 {
            return;
        }
        self.rows = row;
        self.cells.advance();
        let Some(note) = played.last() else { return };
        let now = milliseconds(note);
        let (costs, events) = (&self.costs, self.events.list());

        let added = costs.added(note);
        // Before the first event everything is extra, or played for itself.
        let mut before = Column::before(events, 0);
        let outside = match self.manner {
            Manner::OneAttempt | Manner::Cut => added,
            Manner::Stream => costs.passed_over(note),
        };
        let mut previous = self.cells.get(before, 1).dearer(outside);
        // What is paid from here on is paid for the attempt.
        previous.before = previous.cost;
        self.cells.set(before, previous);
        // An attempt in a stream may begin on the way. One that was cut out does so before its
        // first note or not at all, which back-pointers can tell.
        let midway = previous.dearer(match self.manner {
            Manner::OneAttempt | Manner::Cut => u16::MAX,
            Manner::Stream => costs.begin_midway,
        });
        let mut cheapest = previous.cost;
        let mut best = Best::outside(previous);
        let mut over = Over { cost: u16::MAX, tempo: Cell::NO_TEMPO };
        let mut chord = Chord::default();
        let mut passed = Passed::NONE;

        for (index, event) in events.iter().enumerate() {
            let reached = index + 1;
            let here = Column::before(events, reached);

            let mut cell = previous.dearer(costs.left_out(event));
            let mut step = Step::LeftOut;
            if midway.cost < cell.cost {
                cell = midway;
            }

            let above = self.cells.get(here, 1);
            let trilled = self.is_trilled(note, reached, above, played);
            let extra = if trilled { costs.trilled } else { added };
            if above.cost.saturating_add(extra) <= cell.cost {
                cell = above.dearer(extra);
                step = Step::Extra;
            }

            let expected = self.events.notes(event, chunk.notes());
            if let [wanted] = expected {
                let from = self.cells.get(before, 1);
                let cost = fit_one(costs, wanted, note);
                if from.cost.saturating_add(cost) <= cell.cost {
                    let reached = Reached { index, event, first: row - 1, began: now };
                    let timed = reached.from(from, costs, events, played, &mut passed);
                    let candidate = timed.dearer(cost);
                    if candidate.cost <= cell.cost {
                        cell = candidate;
                        step = Step::Match(1);
                    }
                }
            } else {
                chord.look_at(expected, self.events.has_trills());
                let most = event.most_notes().min(row);
                for notes in 1..=most {
                    let from = self.cells.get(before, notes);
                    // Even with all of them right, this many would be left over or out.
                    let uneven = notes.saturating_sub(expected.len()) as u16 * costs.trilled
                        + expected.len().saturating_sub(notes) as u16 * costs.missing;
                    if from.cost.saturating_add(uneven) > cell.cost {
                        continue;
                    }
                    let glance = chord.glance.get_or_insert_with(|| {
                        Glance::at(&self.events, reached, expected, played, most)
                    });
                    let least = glance.at_least(costs, notes);
                    if from.cost.saturating_add(least) > cell.cost {
                        continue;
                    }
                    let Some(fits) = chord.fits.get_mut(notes - 1) else { continue };
                    let cost = *fits.get_or_insert_with(|| {
                        let these = played.get(row - notes..).unwrap_or(&[]);
                        let Fit { cost, of } = glance.fit(costs, expected, these);
                        // A match in which nothing is matched is none.
                        if of.iter().all(Option::is_none) { u16::MAX } else { cost }
                    });
                    if cost == u16::MAX || from.cost.saturating_add(cost) > cell.cost {
                        continue;
                    }
                    let timed = self.timed(from, index, event, played, row - notes, row - 1);
                    let candidate = timed.dearer(cost);
                    if candidate.cost <= cell.cost {
                        cell = candidate;
                        step = Step::Match(notes as u8);
                    }
                }
            }

            if self.manner != Manner::Stream {
                self.steps.set(row - 1, event, step);
            }
            self.cells.set(here, cell);
            let ends = reached >= self.proper && !self.trill_goes_on(now, reached, &cell, played);
            over.consider(&self.costs, cell, ends);
            // On a tie, further is better only if the note that just came is part of it: an
            // extra note after the last proper one does not mean that the landing was left out.
            let part = matches!(step, Step::Match(_)) || (step == Step::Extra && trilled);
            if cell.cost < cheapest || (cell.cost == cheapest && part) {
                cheapest = cell.cost;
                best = Best { events: reached, part, cell };
            }
            previous = cell;
            before = here;
        }
        self.best = best;
        self.over = over.cost;
        if self.manner == Manner::Stream {
            self.go_round(over);
            self.keep_small();
        }
    }

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
        above.tempo == Cell::NO_TEMPO
            || is_before_its_end(&trill, &last, above, played, milliseconds(note) + LAST_TRILLED)
    }

    /// Whether a trill is written to go on at `now`, after `reached` events on the way that led
    /// to `cell`: the attempt is not at its end then, and what comes is not the next one so soon.
    fn trill_goes_on(&self, now: u32, reached: usize, cell: &Cell, played: &[PlayedNote]) -> bool {
        // A landing that has not come ends nothing.
        let reached = reached.min(self.proper.max(usize::from(cell.event) + 1));
        let Some(trill) = self.events.trill_after(reached) else { return false };
        let Some(last) = self.events.get(usize::from(cell.event)) else { return false };
        cell.tempo != Cell::NO_TEMPO && is_before_its_end(trill, &last, cell, played, now + SURELY)
    }

    /// What was under way may be over: begins anew, from the cell before the first event.
    fn go_round(&mut self, over: Over) {
        let events = self.events.list();
        let first = Column::before(events, 0);
        if over.cost >= self.cells.get(first, 0).cost {
            return;
        }
        let mut cell = Cell { tempo: over.tempo, before: over.cost, ..Cell::start(over.cost) };
        self.cells.set(first, cell);
        // The next attempt may leave out its first events, or begin on the way.
        let midway = over.cost.saturating_add(self.costs.begin_midway);
        for (index, event) in events.iter().enumerate() {
            cell = cell.dearer(self.costs.left_out(event));
            cell.cost = cell.cost.min(midway);
            let here = Column::before(events, index + 1);
            if cell.cost < self.cells.get(here, 0).cost {
                self.cells.set(here, cell);
            }
        }
    }

    /// Costs of a stream add up for ever, and only their differences matter.
    fn keep_small(&mut self) {
        const HIGH: u16 = 16_384;
        // Cells of earlier rows may be cheaper, by less than this.
        const ROOM: u16 = 4_096;
        if self.best.cell.cost >= HIGH {
            self.cells.lower(HIGH - ROOM);
            self.best.cell = self.best.cell.lowered(HIGH - ROOM);
        }
    }

    /// The cell reached from `from` by matching `event` with the played notes `first` to
    /// `last`, with the cost of their time.
    pub(super) fn timed(
        &self,
        from: &Cell,
        index: usize,
        event: &Event,
        played: &[PlayedNote],
        first: usize,
        last: usize,
    ) -> Cell {
        let at = |note: usize| played.get(note).map_or(0, milliseconds);
        let reached = Reached { index, event, first, began: at(first) };
        let mut passed = Passed::NONE;
        let mut cell = reached.from(from, &self.costs, self.events.list(), played, &mut passed);
        if !event.rolled && last > first {
            let spread = at(last).abs_diff(at(first));
            let over = spread.saturating_sub(self.costs.spread_free);
            // Real chords stay below that, and the smallest processors cannot divide.
            if over > 0 {
                let price = over / self.costs.spread_for_one;
                cell = cell.dearer(price.min(u32::from(self.costs.spread_at_most)) as u16);
            }
        }
        cell
    }
}

/// Whether `now` is before the written end of a trill, after the event `last` on the way that led
/// to `cell`.
fn is_before_its_end(
    trill: &Trill,
    last: &Event,
    cell: &Cell,
    played: &[PlayedNote],
    now: u32,
) -> bool {
    let left = scaled(trill.until.saturating_sub(last.due), cell.tempo.into());
    let from = played.get(usize::from(cell.note)).map_or(0, milliseconds);
    now.saturating_sub(from) <= left
}

/// The time that has passed since a played note, as a logarithm: many ways lead on from the same
/// note, and the smallest processors take long for a logarithm.
struct Passed {
    since: u16,
    log: i32,
}

impl Passed {
    const NONE: Self = Self { since: Cell::NONE, log: 0 };

    fn since(&mut self, note: u16, began: u32, played: &[PlayedNote]) -> i32 {
        if self.since != note {
            let last_began = played.get(usize::from(note)).map_or(0, milliseconds);
            let log = log2(began.saturating_sub(last_began) + SMOOTHING);
            *self = Self { since: note, log };
        }
        self.log
    }
}

/// An event that a played note begins.
struct Reached<'e> {
    index: usize,
    event: &'e Event,
    /// The played note.
    first: usize,
    /// When it began, in 1,024ths of a second.
    began: u32,
}

impl Reached<'_> {
    /// The cell reached from `from` by matching the event, with the cost of its time.
    fn from(
        &self,
        from: &Cell,
        costs: &Costs,
        events: &[Event],
        played: &[PlayedNote],
        passed: &mut Passed,
    ) -> Cell {
        let Self { index, event, first, began } = *self;
        let mut cell = Cell { event: index as u16, note: first as u16, ..*from };
        let Some(last_matched) = events.get(usize::from(from.event)) else {
            // The first event that is matched begins an attempt.
            cell.start = first as u16;
            return cell;
        };
        let passed = passed.since(from.note, began, played);
        let written = event.due.saturating_sub(last_matched.due);
        if from.tempo == Cell::NO_TEMPO {
            let slower = passed - log2(written + SMOOTHING);
            cell.tempo = slower.clamp(-TEMPO_RANGE, TEMPO_RANGE) as i16;
            return cell;
        }
        let tempo = i32::from(from.tempo);
        let predicted = scaled(written, tempo);
        let off = passed - log2(predicted.saturating_add(SMOOTHING));
        let price = (off.unsigned_abs() * u32::from(costs.octave_of_time)) >> 8;
        cell = cell.dearer((price as u16).min(costs.time_at_most));
        // A small deviation is believed by half, a large one (a pause, or a new tempo) by a
        // quarter: a new tempo is followed within a few notes, a pause is not taken for one.
        let believed = if off.abs() < 128 { off / 2 } else { off / 4 };
        cell.tempo = (tempo + believed).clamp(-TEMPO_RANGE, TEMPO_RANGE) as i16;
        cell
    }
}
