//! The working memory of the alignment: back-pointers for the whole attempt, and the costs
//! of the last few rows.
//!
//! A row is a played note, a column is the number of events that are behind. An event of
//! `n` notes has 2 · n bits a row for its back-pointer, which is enough: it distinguishes
//! "left out", "extra note" and one match for each number of played notes that the event can
//! explain. So the whole table for the fullest chunk and the longest attempt is 32 KiB, and
//! nothing has to be thrown away to find the best alignment of all.

use super::events::{Event, Events};
use crate::limits::{EXPECTED_NOTES, PLAYED_NOTES};

const ROW_BYTES: usize = EXPECTED_NOTES * 2 / 8;

/// How a cell was reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// The event was left out.
    LeftOut,
    /// The played note is an extra one.
    Extra,
    /// The event explains this many played notes.
    Match(u8),
}

impl Step {
    const fn code(self) -> u16 {
        match self {
            Self::LeftOut => 0,
            Self::Extra => 1,
            Self::Match(notes) => 1 + notes as u16,
        }
    }

    const fn of(code: u16) -> Self {
        match code {
            0 => Self::LeftOut,
            1 => Self::Extra,
            notes => Self::Match((notes - 1) as u8),
        }
    }
}

/// Back-pointers of all rows.
#[derive(Clone, Debug)]
pub(super) struct Steps([[u8; ROW_BYTES]; PLAYED_NOTES]);

impl Steps {
    pub(super) const fn new() -> Self {
        Self([[0; ROW_BYTES]; PLAYED_NOTES])
    }

    /// Notes how the cell of `row` after `event` was reached.
    pub(super) fn set(&mut self, row: usize, event: Event, step: Step) {
        let (byte, shift, mask) = field(event);
        let Some(bytes) = self.0.get_mut(row) else {
            return;
        };
        let bits = step.code() << shift;
        let mask = mask << shift;
        if let Some(low) = bytes.get_mut(byte) {
            *low = (*low & !(mask as u8)) | bits as u8;
        }
        if mask > 0xff
            && let Some(high) = bytes.get_mut(byte + 1)
        {
            *high = (*high & !((mask >> 8) as u8)) | (bits >> 8) as u8;
        }
    }

    pub(super) fn get(&self, row: usize, event: Event) -> Step {
        let (byte, shift, mask) = field(event);
        let bytes = self.0.get(row).map_or(&[][..], |row| row.as_slice());
        let low = u16::from(bytes.get(byte).copied().unwrap_or(0));
        let high = u16::from(bytes.get(byte + 1).copied().unwrap_or(0));
        Step::of(((low | (high << 8)) >> shift) & mask)
    }
}

/// Byte, shift and mask of an event's field in a row.
const fn field(event: Event) -> (usize, u16, u16) {
    let bit = event.first as usize * 2;
    // Four bits are enough for the largest event, see `Event::most_notes`.
    let mask = if event.size == 1 { 0b11 } else { 0b1111 };
    (bit / 8, (bit % 8) as u16, mask)
}

/// The cost of a cell, and what time is expected next on the way that led to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) cost: u16,
    /// The last event that was matched; [`Cell::NONE`] before the first.
    pub(super) event: u16,
    /// The first played note that it was matched with.
    pub(super) note: u16,
    /// How much slower than the practised tempo, in 256ths of an octave;
    /// [`Cell::NO_TEMPO`] while only one event has been heard.
    pub(super) tempo: i16,
    /// The first played note of the attempt that this is part of; means nothing before the
    /// first event is matched.
    pub(super) start: u16,
    /// What had been paid before that note, so that only what came since can be told.
    pub(super) before: u16,
}

impl Cell {
    pub(super) const NONE: u16 = u16::MAX;
    pub(super) const NO_TEMPO: i16 = i16::MIN;

    pub(super) const fn start(cost: u16) -> Self {
        Self {
            cost,
            event: Self::NONE,
            note: Self::NONE,
            tempo: Self::NO_TEMPO,
            start: 0,
            before: 0,
        }
    }

    #[must_use]
    pub(super) const fn lowered(self, by: u16) -> Self {
        let cost = self.cost.saturating_sub(by);
        Self { cost, before: self.before.saturating_sub(by), ..self }
    }

    #[must_use]
    pub(super) const fn dearer(self, by: u16) -> Self {
        Self { cost: self.cost.saturating_add(by), ..self }
    }
}

/// An event of two notes looks back on up to four played notes, beside the current one:
/// five cells for two notes is the most that any mix of events asks for. The last column
/// needs two.
const CELLS: usize = EXPECTED_NOTES * 5 / 2 + 2;

/// The last rows of costs: for each column, as many as the next event can look back.
#[derive(Clone, Debug)]
pub(super) struct Cells([Cell; CELLS]);

impl Cells {
    pub(super) const fn new() -> Self {
        Self([Cell::start(0); CELLS])
    }

    /// The cell after `column` events, `row` played notes.
    pub(super) fn get(&self, column: Column, row: usize) -> Cell {
        self.0.get(column.slot(row)).copied().unwrap_or(Cell::start(u16::MAX))
    }

    /// Takes `by` off every cost.
    pub(super) fn lower(&mut self, by: u16) {
        for cell in &mut self.0 {
            *cell = cell.lowered(by);
        }
    }

    pub(super) fn set(&mut self, column: Column, row: usize, cell: Cell) {
        if let Some(slot) = self.0.get_mut(column.slot(row)) {
            *slot = cell;
        }
    }
}

/// Where the history of a column lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    first: u16,
    rows: u16,
}

impl Column {
    /// The column before the event with this index; the last one, if there is no such event.
    pub(super) fn before(events: &Events, index: usize) -> Self {
        if let Some(event) = events.get(index) {
            return Self { first: event.history, rows: event.most_notes() as u16 + 1 };
        }
        let end =
            events.list().last().map_or(0, |last| last.history + last.most_notes() as u16 + 1);
        Self { first: end, rows: 2 }
    }

    fn slot(self, row: usize) -> usize {
        // `rows` is at least 2.
        usize::from(self.first) + row % usize::from(self.rows.max(1))
    }
}
