//! Which played note is which expected note.
//!
//! An incremental dynamic programme over *events* (expected notes that begin together). Row
//! by row, as notes arrive, it keeps for every number of events the cheapest explanation of
//! all that has been played: an event left out, an extra note, or an event matched with the
//! last few notes in any order. The best cell of the row says at once where the player is;
//! when the attempt is over, the back-pointers give the cheapest alignment of all, and a
//! second look pairs what was played out of order.
//!
//! Work a note grows with the number of expected notes and with nothing else.

mod costs;
mod events;
mod material;
mod noise;
mod octaves;
mod pairing;
mod repeats;
mod second_look;
mod table;
mod together;

#[cfg(test)]
mod reference;
#[cfg(test)]
mod tests;

pub use material::Material;
pub use pairing::{Pairing, Role};

use crate::attempt::PlayedNote;
use crate::limits::PLAYED_NOTES;
use crate::pickup::Latency;
use crate::study::Chunk;
use costs::Costs;
use events::{Event, Events, MILLI_SHIFT};
use octaves::{log2, scaled};
use table::{Cell, Cells, Column, Step, Steps};
use together::{Fit, Glance, fit, fit_one};

/// Milliseconds added to both sides of a ratio of times, so that the noise of two hands
/// does not look like a change of tempo where notes follow each other quickly. Our default.
const SMOOTHING: u32 = 25;

/// How far the tempo may be from the practised one, in 256ths of an octave: four times
/// slower or faster, a little more than anyone plays (a third to three times is asked for).
const TEMPO_RANGE: i32 = 512;

/// Aligns one attempt with one chunk while it is played.
#[derive(Clone, Debug)]
pub struct Aligner {
    costs: Costs,
    events: Events,
    cells: Cells,
    steps: Steps,
    rows: usize,
    best: Best,
}

/// The cheapest cell of the last row.
#[derive(Clone, Copy, Debug)]
struct Best {
    events: usize,
    /// Whether the last note completed an event there.
    by_match: bool,
    tempo: i16,
    cost: u16,
}

impl Best {
    const NOTHING: Self = Self { events: 0, by_match: false, tempo: Cell::NO_TEMPO, cost: 0 };
}

impl Aligner {
    /// Ready for the first note of an attempt at `chunk`.
    pub fn new(chunk: &Chunk<'_>) -> Self {
        let mut aligner = Self {
            costs: Costs::DEFAULT,
            events: Events::of(chunk),
            cells: Cells::new(),
            steps: Steps::new(),
            rows: 0,
            best: Best::NOTHING,
        };
        aligner.begin();
        aligner
    }

    #[cfg(test)]
    fn with_costs(mut self, costs: Costs) -> Self {
        self.costs = costs;
        self.begin();
        self
    }

    /// Forgets what was played; the chunk stays.
    pub fn begin(&mut self) {
        self.rows = 0;
        self.best = Best::NOTHING;
        let mut cell = Cell::start(0);
        self.cells.set(Column::before(&self.events, 0), 0, cell);
        for index in 0..self.events.len() {
            if let Some(event) = self.events.get(index) {
                cell = cell.dearer(self.left_out(event));
            }
            self.cells.set(Column::before(&self.events, index + 1), 0, cell);
        }
    }

    /// Takes the last of `played`, which holds the whole attempt so far. Notes beyond
    /// [`PLAYED_NOTES`] are not aligned.
    pub fn push(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote]) {
        let row = played.len();
        if row == 0 || row > PLAYED_NOTES || row != self.rows + 1 {
            return;
        }
        self.rows = row;
        let Some(note) = played.last() else { return };

        // Before the first event everything is extra.
        let first = Column::before(&self.events, 0);
        let added = self.costs.added(note);
        let mut previous = self.cells.get(first, row - 1).dearer(added);
        self.cells.set(first, row, previous);
        let mut cheapest = previous.cost;
        let mut best = Best { cost: cheapest, ..Best::NOTHING };

        for index in 0..self.events.len() {
            let Some(event) = self.events.get(index) else {
                break;
            };
            let reached = index + 1;
            let before = Column::before(&self.events, index);
            let here = Column::before(&self.events, reached);

            let mut cell = previous.dearer(self.left_out(event));
            let mut step = Step::LeftOut;

            let trilled = self.events.has_trills() && self.events.trill(note, reached).is_some();
            let extra = if trilled { self.costs.trilled } else { added };
            let candidate = self.cells.get(here, row - 1).dearer(extra);
            if candidate.cost <= cell.cost {
                cell = candidate;
                step = Step::Extra;
            }

            let expected = self.events.notes(event, chunk.notes());
            if let [wanted] = expected {
                let from = self.cells.get(before, row - 1);
                let cost = fit_one(&self.costs, wanted, note);
                if from.cost.saturating_add(cost) <= cell.cost {
                    let timed = self.timed(from, index, event, played, row - 1, row - 1);
                    let candidate = timed.dearer(cost);
                    if candidate.cost <= cell.cost {
                        cell = candidate;
                        step = Step::Match(1);
                    }
                }
            } else {
                let most = event.most_notes().min(row);
                let mut glance = None;
                for notes in 1..=most {
                    let from = self.cells.get(before, row - notes);
                    // Even with all of them right, this many would be left over or out.
                    let uneven = notes.saturating_sub(expected.len()) as u16 * self.costs.trilled
                        + expected.len().saturating_sub(notes) as u16 * self.costs.missing;
                    if from.cost.saturating_add(uneven) > cell.cost {
                        continue;
                    }
                    let glance = glance.get_or_insert_with(|| {
                        Glance::at(&self.events, reached, expected, played, most)
                    });
                    let least = glance.at_least(&self.costs, notes);
                    if from.cost.saturating_add(least) > cell.cost {
                        continue;
                    }
                    let Some(these) = played.get(row - notes..) else { continue };
                    let Fit { cost, of } = fit(&self.costs, &self.events, reached, expected, these);
                    if from.cost.saturating_add(cost) > cell.cost || of.iter().all(Option::is_none)
                    {
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

            self.steps.set(row - 1, event, step);
            self.cells.set(here, row, cell);
            // On a tie, further is better only if the note that just came is part of it: an
            // extra note after the last proper one does not mean that the landing was left out.
            let by_match = matches!(step, Step::Match(_));
            if cell.cost < cheapest || (cell.cost == cheapest && by_match) {
                cheapest = cell.cost;
                best = Best { events: reached, by_match, tempo: cell.tempo, cost: cell.cost };
            }
            previous = cell;
        }
        self.best = best;
    }

    /// How many events (notes or chords) are behind, by the best explanation so far.
    pub const fn events_behind(&self) -> usize {
        self.best.events
    }

    /// Whether the last note completed the last event of the chunk proper (not the landing)
    /// or came after it.
    pub fn is_complete(&self) -> bool {
        let proper = self.events.list().iter().filter(|event| !event.landing).count();
        self.best.events >= proper && proper > 0
    }

    /// Whether the landing on the next chunk has been played, too.
    pub fn is_landed(&self) -> bool {
        self.best.events >= self.events.len()
    }

    /// How long something lasts at the tempo of the best explanation so far, if it lasts
    /// `micros` at the practised tempo. As long as only one event has been heard, the
    /// practised tempo is all that is known.
    pub fn at_own_tempo(&self, micros: u32) -> u32 {
        if self.best.tempo == Cell::NO_TEMPO {
            return micros;
        }
        scaled(micros, i32::from(self.best.tempo))
    }

    /// What the best explanation so far leaves unexplained, in per cent of a note that is left
    /// out: wrong, extra and missing notes up to where the player is, and a little for
    /// times that do not fit. 0 is a perfect fit.
    pub fn unexplained(&self) -> u32 {
        u32::from(self.best.cost) * 100 / u32::from(costs::WHOLE)
    }

    /// Whether the last note was part of an event, not an extra one.
    pub const fn last_note_matched(&self) -> bool {
        self.best.by_match
    }

    /// The cheapest alignment of all that was played with the whole chunk.
    pub fn pairing(&self, chunk: &Chunk<'_>, played: &[PlayedNote]) -> Pairing {
        let played = played.get(..self.rows.min(played.len())).unwrap_or(&[]);
        let mut pairing = self.first_look(chunk, played);
        second_look::repair(&self.costs, &self.events, chunk, played, &mut pairing);
        repeats::settle(&self.events, chunk, played, &mut pairing);
        noise::settle(chunk, played, &mut pairing);
        pairing
    }

    /// What the back-pointers say.
    fn first_look(&self, chunk: &Chunk<'_>, played: &[PlayedNote]) -> Pairing {
        let mut pairing = Pairing::none(chunk.notes().len(), played.len());
        let mut row = played.len();
        let mut column = self.events.len();
        while column > 0 {
            let Some(event) = self.events.get(column - 1) else {
                break;
            };
            let step = if row == 0 { Step::LeftOut } else { self.steps.get(row - 1, event) };
            match step {
                Step::LeftOut => column -= 1,
                Step::Extra => row = row.saturating_sub(1),
                Step::Match(notes) => {
                    let from = row.saturating_sub(usize::from(notes).max(1));
                    let these = played.get(from..row).unwrap_or(&[]);
                    let expected = self.events.notes(event, chunk.notes());
                    let fit = fit(&self.costs, &self.events, column, expected, these);
                    for (offset, of) in fit.of.iter().enumerate() {
                        if let Some(of) = of {
                            pairing.pair(usize::from(event.first + u16::from(*of)), from + offset);
                        }
                    }
                    row = from;
                    column -= 1;
                }
            }
        }
        pairing
    }

    const fn left_out(&self, event: Event) -> u16 {
        if event.landing { 0 } else { self.costs.missing * event.size as u16 }
    }

    /// The cell reached from `from` by matching `event` with the played notes `first` to
    /// `last`, with the cost of their time.
    fn timed(
        &self,
        from: Cell,
        index: usize,
        event: Event,
        played: &[PlayedNote],
        first: usize,
        last: usize,
    ) -> Cell {
        let at = |note: usize| played.get(note).map_or(0, milliseconds);
        let mut cell = Cell { event: index as u16, note: first as u16, ..from };
        if !event.rolled {
            let spread = at(last).abs_diff(at(first));
            let over = spread.saturating_sub(self.costs.spread_free) / self.costs.spread_for_one;
            cell = cell.dearer((over as u16).min(self.costs.spread_at_most));
        }
        let Some(last_matched) = self.events.get(usize::from(from.event)) else {
            return cell;
        };
        let passed = at(first).saturating_sub(at(usize::from(from.note)));
        let written = event.due.saturating_sub(last_matched.due);
        if from.tempo == Cell::NO_TEMPO {
            let slower = log2(passed + SMOOTHING) - log2(written + SMOOTHING);
            cell.tempo = slower.clamp(-TEMPO_RANGE, TEMPO_RANGE) as i16;
            return cell;
        }
        let tempo = i32::from(from.tempo);
        let predicted = scaled(written, tempo);
        let off = log2(passed + SMOOTHING) - log2(predicted.saturating_add(SMOOTHING));
        let price = (off.unsigned_abs() * u32::from(self.costs.octave_of_time)) >> 8;
        cell = cell.dearer((price as u16).min(self.costs.time_at_most));
        // A small deviation is believed by half, a large one (a pause, or a new tempo) by a
        // quarter: a new tempo is followed within a few notes, a pause is not taken for one.
        let believed = if off.abs() < 128 { off / 2 } else { off / 4 };
        cell.tempo = (tempo + believed).clamp(-TEMPO_RANGE, TEMPO_RANGE) as i16;
        cell
    }
}

/// Notes come in order of arrival, and the times they were played at may step back by as much
/// as a converter's latency differs, at most. In 1,024ths of a second.
const STEP_BACK: u32 = 256;
const _: () = assert!(Latency::MOST.as_micros() <= (STEP_BACK << MILLI_SHIFT) as i32);

/// When a note was played, in 1,024ths of a second from [`STEP_BACK`] before the attempt.
fn milliseconds(note: &PlayedNote) -> u32 {
    let at = note.at.as_micros() >> MILLI_SHIFT;
    at.saturating_add(STEP_BACK as i32).max(0).unsigned_abs()
}
