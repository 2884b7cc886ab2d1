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
pub use pairing::{Pairing, Role};

use crate::attempt::{PlayedNote, SAME_STROKE};
use crate::pickup::Latency;
use crate::study::Chunk;
use costs::Costs;
use events::{Events, MILLI_SHIFT};
use octaves::scaled;
use table::{Cell, Cells, Column, Step, Steps};
use together::fit;

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
    /// What it costs if the attempt is over with the last row, or broke off there.
    over: u16,
    manner: Manner,
    /// The back-pointers have been read, so what is here fits no further note.
    is_closed: bool,
    /// Events before the landing.
    proper: usize,
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
pub struct UnderWay {
    /// The first played note of the attempt.
    pub start: usize,
    /// How many events are behind.
    pub events: usize,
    /// Whether the last played note is part of it.
    pub part: bool,
}

impl Aligner {
    /// Without a chunk: everything is passed over.
    pub const EMPTY: Self = Self {
        costs: Costs::NONE,
        events: Events::NONE,
        cells: Cells::NONE,
        steps: Steps::NONE,
        rows: 0,
        best: Best::outside(Cell::BLANK),
        over: 0,
        manner: Manner::OneAttempt,
        is_closed: false,
        proper: 0,
    };

    /// Ready for the first note of an attempt at `chunk`.
    pub fn new(chunk: &Chunk<'_>) -> Self {
        let mut aligner = Self::EMPTY;
        aligner.change(chunk);
        aligner
    }

    /// Forgets chunk and notes, and is ready for the first note of an attempt at `chunk`.
    pub fn change(&mut self, chunk: &Chunk<'_>) {
        self.costs = Costs::DEFAULT;
        self.events.read(chunk);
        self.proper = self.events.list().iter().filter(|event| !event.is_landing()).count();
        self.begin();
    }

    #[cfg(test)]
    fn with_costs(mut self, costs: Costs) -> Self {
        self.costs = costs;
        self.begin();
        self
    }

    /// Forgets what was played; what comes is one attempt.
    pub fn begin(&mut self) {
        self.begin_as(Manner::OneAttempt);
    }

    /// Forgets what was played; what comes is one attempt that was cut out of a stream, and may
    /// begin on the way.
    pub fn begin_cut(&mut self) {
        self.begin_as(Manner::Cut);
    }

    /// Forgets what was played; what comes is a stream of attempts and of notes between them.
    pub fn begin_stream(&mut self) {
        self.begin_as(Manner::Stream);
    }

    fn begin_as(&mut self, manner: Manner) {
        self.manner = manner;
        self.is_closed = false;
        self.rows = 0;
        let mut cell = Cell::start(0);
        self.best = Best::outside(cell);
        self.over = 0;
        self.cells.begin();
        self.steps.begin(self.events.notes_in_all());
        let events = self.events.list();
        let mut column = Column::first(events);
        self.cells.set(column, cell);
        let midway = match manner {
            Manner::OneAttempt => u16::MAX,
            Manner::Cut | Manner::Stream => self.costs.begin_midway,
        };
        for (index, event) in events.iter().enumerate() {
            cell = cell.dearer(self.costs.left_out(event));
            cell.cost = cell.cost.min(midway);
            column = column.next(events.get(index + 1));
            self.cells.set(column, cell);
        }
    }

    /// How many notes have been taken since the beginning.
    pub const fn notes_aligned(&self) -> usize {
        self.rows
    }

    /// How many events (notes or chords) are behind, by the best explanation so far.
    pub const fn events_behind(&self) -> usize {
        self.best.events
    }

    /// Whether the last note completed the last event of the chunk proper (not the landing)
    /// or came after it.
    pub const fn is_complete(&self) -> bool {
        self.best.events >= self.proper && self.proper > 0
    }

    /// Whether the landing on the next chunk has been played, too.
    pub fn is_landed(&self) -> bool {
        self.best.events >= self.events.len()
    }

    /// How long something lasts at the tempo of the best explanation so far, if it lasts
    /// `micros` at the practised tempo. As long as only one event has been heard, the
    /// practised tempo is all that is known.
    pub fn at_own_tempo(&self, micros: u32) -> u32 {
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
    pub fn match_score(&self, played: &[PlayedNote]) -> i32 {
        let passing = |note: &PlayedNote| u32::from(self.costs.passed_over(note));
        let passing = played.iter().map(passing).sum::<u32>().min(1 << 16) as i32;
        let cost = match self.manner {
            Manner::OneAttempt | Manner::Cut => self.over,
            Manner::Stream => self.best.cell.cost.saturating_sub(self.best.cell.before),
        };
        (passing - i32::from(cost)) * 100 / i32::from(costs::WHOLE)
    }

    /// Whether something about the attempt under way is not as it should be: a slip, or time that
    /// costs as much as a quarter of one (our default).
    pub const fn is_blemished(&self) -> bool {
        self.best.cell.cost.saturating_sub(self.best.cell.before) >= costs::WHOLE / 4
    }

    /// Whether the last note was part of an event or of a trill, not an extra one.
    pub const fn last_note_matched(&self) -> bool {
        self.best.part
    }

    /// The attempt that is under way by the best explanation of a stream; `None` while what is
    /// played belongs to none.
    pub fn under_way(&self) -> Option<UnderWay> {
        let Best { events, part, cell } = self.best;
        let start = usize::from(cell.start);
        (events > 0 && cell.event != Cell::NONE).then_some(UnderWay { start, events, part })
    }

    /// The first played note of the last event (note or chord) that was played by the best
    /// explanation so far.
    pub fn last_event_note(&self) -> Option<usize> {
        let Cell { event, note, .. } = self.best.cell;
        (event != Cell::NONE).then_some(note.into())
    }

    /// How many notes of the chunk stand before the event with this index.
    pub fn notes_before(&self, event: usize) -> usize {
        match self.events.get(event) {
            Some(event) => usize::from(event.first),
            None => self.events.notes_in_all(),
        }
    }

    /// The cheapest alignment of all that was played with the whole chunk, written to `pairing`.
    ///
    /// It may have to align the first notes once more, see
    /// [`STEPS_BYTES`](crate::limits::STEPS_BYTES), and so takes no more notes afterwards until
    /// it begins anew.
    // Not inlined: what it takes of the stack is given back before anything is measured.
    #[inline(never)]
    pub fn pair(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote], pairing: &mut Pairing) {
        let played = played.get(..self.rows.min(played.len())).unwrap_or(&[]);
        let (rows, best, over) = (self.rows, self.best, self.over);
        self.first_look(chunk, played, pairing);
        (self.rows, self.best, self.over) = (rows, best, over);
        self.is_closed = true;
        trill_begins::settle(&self.events, chunk, played, pairing);
        exchanged::settle(&self.events, chunk, played, pairing);
        repair_order::repair(&self.costs, &self.events, chunk, played, pairing);
        repeats::settle(&self.events, chunk, played, pairing);
        noise::settle(chunk, played, pairing);
    }

    /// The same as a value of its own.
    #[cfg(test)]
    pub(crate) fn pairing(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote]) -> Pairing {
        let mut pairing = Pairing::EMPTY;
        self.pair(chunk, played, &mut pairing);
        pairing
    }

    /// What the back-pointers say.
    fn first_look(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote], pairing: &mut Pairing) {
        pairing.begin(chunk.notes().len(), played.len());
        let mut row = played.len();
        let mut column = self.events.len();
        while column > 0 {
            let Some(event) = self.events.get(column - 1) else {
                break;
            };
            if row > 0 && row - 1 < self.steps.first() {
                self.look_further_back(chunk, played.get(..row).unwrap_or(played));
            }
            let step = if row == 0 { Step::LeftOut } else { self.steps.get(row - 1, &event) };
            match step {
                Step::LeftOut => column -= 1,
                Step::Extra => row = row.saturating_sub(1),
                Step::Match(notes) => {
                    let from = row.saturating_sub(usize::from(notes).max(1));
                    let these = played.get(from..row).unwrap_or(&[]);
                    let expected = self.events.notes(&event, chunk.notes());
                    let fit = fit(&self.costs, &self.events, column, expected, these);
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

    /// Aligns these notes once more, so that the back-pointers of the last of them are there.
    fn look_further_back(&mut self, chunk: &Chunk<'_>, played: &[PlayedNote]) {
        self.begin_as(self.manner);
        for count in 1..=played.len() {
            self.push(chunk, played.get(..count).unwrap_or(played));
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
