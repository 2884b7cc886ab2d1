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

mod band;
mod chord;
mod class;
mod costs;
mod events;
mod exchanged;
mod material;
mod noise;
mod octaves;
mod pace;
mod pairing;
mod repair_order;
mod repeats;
mod row;
mod stream;
mod table;
mod together;
mod trill_begins;
mod trilling;

#[cfg(test)]
mod reference;
#[cfg(test)]
mod tests;

pub use class::{Class, Classified, Origin, Sureness};
pub use material::Material;
pub(crate) use octaves::log2;
pub(crate) use pairing::PairingMut;
pub use pairing::{Pairing, PairingView, Role};

use crate::attempt::{PlayedNote, SAME_STROKE};
use crate::limits::STEPS_BYTES_A_NOTE;
use crate::pickup::Latency;
use crate::study::{Chunk, ExpectedNote};
use band::Band;
use costs::Costs;
use events::{Event, Events, MILLI_SHIFT};
use heapless::Vec;
use octaves::scaled;
use table::{CELLS_A_NOTE, Cell, Cells, Column, Step, Steps};
use together::fit;

/// Milliseconds added to both sides of a ratio of times, so that the noise of two hands
/// does not look like a change of tempo where notes follow each other quickly. Our default.
const SMOOTHING: u32 = 25;

/// An explanation may cost anything.
pub(crate) const ANY_COST: u16 = band::ALL;

/// How far the tempo may be from the practised one, in 256ths of an octave: four times
/// slower or faster, a little more than anyone plays (a third to three times is asked for).
const TEMPO_RANGE: i32 = 512;

/// Aligns one attempt with one chunk while it is played. It works in memory that is kept elsewhere,
/// whatever there is room for.
pub(crate) struct Aligner<'a> {
    pub(crate) progress: &'a mut Progress,
    events: &'a mut Events,
    cells: &'a mut Cells,
    steps: &'a mut Steps,
}

/// The memory that an aligner works in, for chunks of so many notes.
#[derive(Clone, Debug)]
pub(crate) struct Workspace<const EXPECTED: usize> {
    progress: Progress,
    events: Events<Vec<Event, EXPECTED>>,
    cells: Cells<[[Cell; CELLS_A_NOTE]; EXPECTED]>,
    steps: Steps<[[u8; STEPS_BYTES_A_NOTE]; EXPECTED]>,
}

impl<const EXPECTED: usize> Workspace<EXPECTED> {
    /// Without a chunk: everything is passed over.
    pub(crate) const EMPTY: Self = Self {
        progress: Progress::NONE,
        events: Events::<Vec<Event, EXPECTED>>::NONE,
        cells: Cells::<[[Cell; CELLS_A_NOTE]; EXPECTED]>::NONE,
        steps: Steps::<[[u8; STEPS_BYTES_A_NOTE]; EXPECTED]>::NONE,
    };

    /// Ready for the first note of an attempt at `chunk`.
    #[cfg(test)]
    pub(crate) fn new(chunk: &Chunk<'_>) -> Self {
        let mut space = Self::EMPTY;
        space.aligner().change(chunk);
        space
    }

    /// The aligner that works here.
    pub(crate) const fn aligner(&mut self) -> Aligner<'_> {
        Aligner {
            progress: &mut self.progress,
            events: &mut self.events,
            cells: &mut self.cells,
            steps: &mut self.steps,
        }
    }

    /// How far it has got.
    pub(crate) const fn progress(&self) -> &Progress {
        &self.progress
    }
}

/// How far an alignment has got.
#[derive(Clone, Debug)]
pub(crate) struct Progress {
    costs: Costs,
    rows: usize,
    best: Best,
    /// What it costs if the attempt is over with the last row, or broke off there.
    over: u16,
    manner: Manner,
    band: Band,
    /// The back-pointers have been read, so what is here fits no further note.
    is_closed: bool,
}

/// What is aligned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Manner {
    /// All that is played is one attempt: what is not part of it is extra, and what does not
    /// come is missing.
    OneAttempt,
    /// The same, cut out of a stream: it begins with its first note, wherever in the chunk that
    /// is.
    Cut,
    /// Attempts follow each other, complete or not, with notes between them that belong to
    /// none. Only where each begins and how far it got is kept.
    Stream,
}

/// The cheapest cell of the last row.
#[derive(Clone, Copy, Debug)]
struct Best {
    events: usize,
    /// Whether the last note is part of an event or a trill there.
    part: bool,
    cell: Cell,
}

impl Best {
    const fn outside(cell: Cell) -> Self {
        Self { events: 0, part: false, cell }
    }
}

/// How far the best explanation of a stream has got.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct UnderWay {
    /// The first played note of the attempt.
    pub(crate) start: usize,
    /// How many events are behind.
    pub(crate) events: usize,
    /// Whether the last played note is part of it.
    pub(crate) part: bool,
}

impl Progress {
    const NONE: Self = Self {
        costs: Costs::NONE,
        rows: 0,
        best: Best::outside(Cell::BLANK),
        over: 0,
        manner: Manner::OneAttempt,
        band: Band::NONE,
        is_closed: false,
    };

    /// How many notes have been taken since the beginning.
    pub(crate) const fn notes_aligned(&self) -> usize {
        self.rows
    }

    /// How many events (notes or chords) are behind, by the best explanation so far.
    pub(crate) const fn events_behind(&self) -> usize {
        self.best.events
    }

    /// How long something lasts at the tempo of the best explanation so far, if it lasts
    /// `micros` at the practised tempo. As long as only one event has been heard, the
    /// practised tempo is all that is known.
    pub(crate) fn at_own_tempo(&self, micros: u32) -> u32 {
        if self.best.cell.tempo == Cell::NO_TEMPO {
            return micros;
        }
        scaled(micros, i32::from(self.best.cell.tempo))
    }

    /// How much better the attempt explains `played` than that nobody meant anything by it, in per
    /// cent of a note that is left out. Comparable between chunks on the same notes: what is
    /// not part of the attempt counts for neither.
    ///
    /// Of one attempt that is as if it were over now, and of one in a stream as if it went on.
    /// `played` are the notes from its first one to the last that was taken.
    pub(crate) fn match_score(&self, played: &[PlayedNote]) -> i32 {
        let passing = |note: &PlayedNote| u32::from(self.costs.passed_over(note));
        let passing = played.iter().map(passing).sum::<u32>().min(1 << 16) as i32;
        let cost = match self.manner {
            Manner::OneAttempt | Manner::Cut => self.over,
            Manner::Stream => self.best.cell.cost.saturating_sub(self.best.cell.before),
        };
        (passing - i32::from(cost)) * 100 / i32::from(costs::WHOLE)
    }

    /// What the attempt that is under way, or was cut out, most likely costs at most: a quarter and a note more
    /// than it does so far. Our default.
    pub(crate) const fn likely_cost(&self) -> u16 {
        let Cell { cost, before, .. } = self.best.cell;
        let own = match self.manner {
            Manner::Stream => cost.saturating_sub(before),
            Manner::OneAttempt | Manner::Cut => cost,
        };
        own.saturating_add(own / 4).saturating_add(costs::WHOLE)
    }

    /// Whether the notes so far cost more than was said, so that no explanation will be found.
    pub(crate) const fn is_too_dear(&self) -> bool {
        !self.band.has(self.best.cell.cost)
    }

    /// Whether something about the attempt under way is not as it should be: a slip, or time that
    /// costs as much as a quarter of one (our default).
    pub(crate) const fn is_blemished(&self) -> bool {
        self.best.cell.cost.saturating_sub(self.best.cell.before) >= costs::WHOLE / 4
    }

    /// Whether the last note was part of an event or of a trill, not an extra one.
    pub(crate) const fn last_note_matched(&self) -> bool {
        self.best.part
    }

    /// The attempt that is under way by the best explanation of a stream; `None` while what is
    /// played belongs to none.
    pub(crate) fn under_way(&self) -> Option<UnderWay> {
        let Best { events, part, cell } = self.best;
        let start = usize::from(cell.start);
        (events > 0 && cell.event != Cell::NONE).then_some(UnderWay { start, events, part })
    }

    /// The first played note of the last event (note or chord) that was played by the best
    /// explanation so far.
    pub(crate) fn last_event_note(&self) -> Option<usize> {
        let Cell { event, note, .. } = self.best.cell;
        (event != Cell::NONE).then_some(note.into())
    }
}

impl Aligner<'_> {
    /// Forgets chunk and notes, and is ready for the first note of an attempt at `chunk`, for which
    /// there has to be room.
    pub(crate) fn change(&mut self, chunk: &Chunk<'_>) {
        self.progress.costs = Costs::DEFAULT;
        self.events.read(chunk);
        self.begin();
    }

    /// Forgets what was played; what comes is one attempt.
    pub(crate) fn begin(&mut self) {
        self.progress.band = Band::NONE;
        self.begin_as(Manner::OneAttempt);
    }

    /// Forgets what was played; what comes is one attempt that was cut out of a stream, and may
    /// begin on the way. What it costs is said: where the best explanation costs more than that, none
    /// [has been found](Self::has_found) in the end, and it is to be begun anew with more; [`ANY_COST`] for any.
    pub(crate) fn begin_cut(&mut self, at_most: u16) {
        self.progress.band = Band::within(at_most.saturating_add(self.beyond()));
        self.begin_as(Manner::Cut);
    }

    /// Whether an explanation has been found at the cost that was said.
    pub(crate) fn has_found(&self) -> bool {
        let band = &self.progress.band;
        !band.is_bounded()
            || self.cost().is_some_and(|cost| band.has(cost.saturating_add(self.beyond())))
    }

    /// How much more than the whole of the best explanation the best of one row may cost, with what is asked of it: in
    /// the middle of a chord, whose notes are extra until half of them have come, and missing from then on; and that
    /// it breaks off there.
    fn beyond(&self) -> u16 {
        let costs = &self.progress.costs;
        let most = self.events.list().iter().map(|event| event.most_notes()).max().unwrap_or(0);
        let in_a_chord = match most {
            0 | 1 => 0,
            most => {
                costs.extra.max(costs.missing) * (most / 2) as u16
                    + costs.time_at_most
                    + costs.spread_at_most
            }
        };
        costs.break_off + in_a_chord
    }

    /// What the best explanation with the whole chunk costs; `None` if that is more than was said.
    fn cost(&self) -> Option<u16> {
        let events = self.events.list();
        let is_there = self.progress.band.high() == events.len();
        is_there.then(|| self.cells.get(Column::last(events), 0).cost)
    }

    /// Forgets what was played; what comes is a stream of attempts and of notes between them.
    pub(crate) fn begin_stream(&mut self) {
        self.progress.band = Band::NONE;
        self.begin_as(Manner::Stream);
    }

    fn begin_as(&mut self, manner: Manner) {
        let mut cell = Cell::start(0);
        let progress = &mut *self.progress;
        progress.manner = manner;
        progress.is_closed = false;
        progress.rows = 0;
        progress.best = Best::outside(cell);
        progress.over = 0;
        let costs = &progress.costs;
        self.cells.begin();
        self.steps.begin(self.events.notes_in_all());
        let events = self.events.list();
        progress.band.begin(events.len());
        let mut within = 0;
        let mut column = Column::first(events);
        self.cells.set(column, cell);
        let midway = match manner {
            Manner::OneAttempt => u16::MAX,
            Manner::Cut | Manner::Stream => costs.begin_midway,
        };
        for (index, event) in events.iter().enumerate() {
            cell = cell.dearer(costs.left_out(event));
            cell.cost = cell.cost.min(midway);
            column = column.next(events.get(index + 1));
            self.cells.set(column, cell);
            if progress.band.has(cell.cost) {
                within = index + 1;
            }
        }
        progress.band.begin_up_to(within);
    }

    /// Whether the last note completed the last event of the chunk proper (not the landing)
    /// or came after it.
    pub(crate) fn is_complete(&self) -> bool {
        self.progress.best.events >= self.events.proper && self.events.proper > 0
    }

    /// Whether the landing on the next chunk has been played, too.
    pub(crate) fn is_landed(&self) -> bool {
        self.progress.best.events >= self.events.len()
    }

    /// How many notes of the chunk stand before the event with this index.
    pub(crate) fn notes_before(&self, event: usize) -> usize {
        match self.events.get(event) {
            Some(event) => usize::from(event.first),
            None => self.events.notes_in_all(),
        }
    }

    /// The cheapest alignment of all that was played with the whole chunk, written to `pairing`.
    ///
    /// It may have to align the first notes once more, see [`STEPS_BYTES_A_NOTE`], and so takes no
    /// more notes afterwards until it begins anew.
    // Not inlined: what it takes of the stack is given back before anything is measured.
    #[inline(never)]
    pub(crate) fn pair(
        &mut self,
        notes: &[ExpectedNote],
        played: &[PlayedNote],
        pairing: &mut PairingMut<'_>,
    ) {
        let Progress { rows, best, over, .. } = *self.progress;
        let played = played.get(..rows.min(played.len())).unwrap_or(&[]);
        self.first_look(notes, played, pairing);
        (self.progress.rows, self.progress.best, self.progress.over) = (rows, best, over);
        self.progress.is_closed = true;
        trill_begins::settle(self.events, notes, played, pairing);
        exchanged::settle(self.events, notes, played, pairing);
        repair_order::repair(&self.progress.costs, self.events, notes, played, pairing);
        repeats::settle(self.events, notes, played, pairing);
        noise::settle(notes, played, pairing);
    }

    /// The same as a value of its own.
    #[cfg(test)]
    pub(crate) fn pairing(&mut self, notes: &[ExpectedNote], played: &[PlayedNote]) -> Pairing {
        let mut pairing: Pairing = Pairing::EMPTY;
        self.pair(notes, played, &mut pairing.writable());
        pairing
    }

    /// What the back-pointers say.
    fn first_look(
        &mut self,
        notes: &[ExpectedNote],
        played: &[PlayedNote],
        pairing: &mut PairingMut<'_>,
    ) {
        pairing.clear();
        // What is looked at once more is looked at for this.
        let cost = self.cost().unwrap_or(ANY_COST);
        let mut row = played.len();
        let mut column = self.events.len();
        while column > 0 {
            let Some(event) = self.events.get(column - 1) else {
                break;
            };
            if row > 0 && row - 1 < self.steps.first() {
                let from = (column, cost);
                self.look_further_back(notes, played.get(..row).unwrap_or(played), from);
            }
            let step = if row == 0 { Step::LeftOut } else { self.steps.get(row - 1, &event) };
            match step {
                Step::LeftOut => column -= 1,
                Step::Extra => row = row.saturating_sub(1),
                Step::Match(count) => {
                    let from = row.saturating_sub(usize::from(count).max(1));
                    let these = played.get(from..row).unwrap_or(&[]);
                    let expected = event.notes(notes);
                    let costs = &self.progress.costs;
                    let fit = fit(costs, self.events, column, expected, these);
                    for (offset, of) in fit.iter().enumerate() {
                        if let Some(of) = of {
                            pairing.pair(usize::from(event.first + u16::from(*of)), from + offset);
                        }
                    }
                    row = from;
                    column -= 1;
                }
            }
        }
    }

    /// Aligns these notes once more, so that the back-pointers of the last of them are there, as far as they lead
    /// to the cell of a column in an explanation of this cost.
    fn look_further_back(
        &mut self,
        notes: &[ExpectedNote],
        played: &[PlayedNote],
        (column, cost): (usize, u16),
    ) {
        self.progress.band = Band::within(cost);
        self.begin_as(self.progress.manner);
        self.progress.band.end_at(column);
        for count in 1..=played.len() {
            self.push(notes, played.get(..count).unwrap_or(played));
        }
    }
}

/// Notes come in order of arrival, and the times they were played at may step back by as much
/// as a converter's latency differs and a stroke takes, at most. In 1,024ths of a second.
const STEP_BACK: u32 = 256;
const _: () = {
    let most = Latency::MOST.as_micros() + SAME_STROKE.as_micros();
    assert!(most <= (STEP_BACK << MILLI_SHIFT) as i32);
};

/// When a note was played, in 1,024ths of a second from [`STEP_BACK`] before the attempt.
fn milliseconds(note: &PlayedNote) -> u32 {
    let at = note.at.as_micros() >> MILLI_SHIFT;
    at.saturating_add(STEP_BACK as i32).max(0).unsigned_abs()
}
