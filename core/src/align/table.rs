//! The working memory of the alignment: back-pointers for the last rows, and the costs of the
//! last few.
//!
//! A row is a played note, a column is the number of events that are behind. An event of
//! `n` notes has 2 · n bits a row for its back-pointer, which is enough: it distinguishes
//! "left out", "extra note" and one match for each number of played notes that the event can
//! explain. At full capacity 8 KiB hold the longest attempt at a chunk of 64 notes, and 256 played notes
//! of 128; a session of any capacity holds 128 played notes of its longest chunk.
//! Whoever looks back further than that aligns the earlier notes once more, so nothing is thrown
//! away to find the best alignment of all.

// What is called for every cell is always inlined, here and in the neighbours: a board's program is
// built for size, and would else call them.

use super::events::Event;
use crate::limits::{NOTES_TOGETHER, STEPS_BYTES_A_NOTE};

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
    #[inline(always)]
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

/// Back-pointers of the last rows. In its place the memory has a capacity; what works with it has
/// a view.
#[derive(Clone, Debug)]
pub(super) struct Steps<B: ?Sized = [[u8; STEPS_BYTES_A_NOTE]]> {
    /// How many bytes a row takes.
    width: usize,
    /// How many rows there is room for.
    rows: usize,
    /// Where the row that was begun last starts: kept, because the smallest processors cannot
    /// divide.
    at: usize,
    /// The number of that row, from 0, and one more.
    next: usize,
    bytes: B,
}

impl<const EXPECTED: usize> Steps<[[u8; STEPS_BYTES_A_NOTE]; EXPECTED]> {
    /// Nothing noted. All zero, so that it takes no constant to copy from.
    pub(super) const NONE: Self =
        Self { width: 0, rows: 0, at: 0, next: 0, bytes: [[0; STEPS_BYTES_A_NOTE]; EXPECTED] };
}

impl Steps {
    /// Forgets all rows; each that follows is for a chunk of so many notes.
    pub(super) fn begin(&mut self, notes: usize) {
        self.width = notes.div_ceil(4).max(1);
        self.rows = self.bytes.as_flattened().len() / self.width;
        self.next = 0;
    }

    /// Begins the next row, over the oldest one where there is no more room.
    pub(super) fn advance(&mut self) -> StepRow<'_> {
        let at = self.at + self.width;
        let is_over = self.next == 0 || at + self.width > self.rows * self.width;
        self.at = if is_over { 0 } else { at };
        self.next += 1;
        StepRow(self.bytes.as_flattened_mut().get_mut(self.at..).unwrap_or_default())
    }

    /// The first row that is still there, of those that have been begun.
    pub(super) fn first(&self) -> usize {
        self.next.saturating_sub(self.rows)
    }

    /// How the cell of a row after `event` was reached. The row has to be there still.
    pub(super) fn get(&self, row: usize, event: &Event) -> Step {
        let (byte, shift, mask) = field(event);
        let at = row.checked_rem(self.rows).unwrap_or(0) * self.width;
        let bytes = self.bytes.as_flattened().get(at + byte..).unwrap_or(&[]);
        let low = u16::from(bytes.first().copied().unwrap_or(0));
        let high = u16::from(bytes.get(1).copied().unwrap_or(0));
        Step::of(((low | (high << 8)) >> shift) & mask)
    }
}

/// The row that was begun last.
pub(super) struct StepRow<'a>(&'a mut [u8]);

impl StepRow<'_> {
    /// Notes how the cell after `event` was reached.
    #[inline(always)]
    pub(super) fn set(&mut self, event: &Event, step: Step) {
        let (byte, shift, mask) = field(event);
        let bits = step.code() << shift;
        let mask = mask << shift;
        let Some(low) = self.0.get_mut(byte) else { return };
        *low = (*low & !(mask as u8)) | bits as u8;
        if mask > 0xff
            && let Some(high) = self.0.get_mut(byte + 1)
        {
            *high = (*high & !((mask >> 8) as u8)) | (bits >> 8) as u8;
        }
    }
}

/// Byte, shift and mask of an event's field in a row.
#[inline(always)]
const fn field(event: &Event) -> (usize, u16, u16) {
    let bit = event.first as usize * 2;
    // Four bits are enough for the largest event, see `Event::most_notes`.
    let mask = if event.size == 1 { 0b11 } else { 0b1111 };
    (bit / 8, (bit % 8) as u16, mask)
}

/// The cost of a cell, and what time is expected next on the way that led to it.
///
/// It stands at whole words, so that small processors copy it word for word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(align(4))]
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
    /// What had been paid before the attempt, so that only what came since can be told.
    pub(super) before: u16,
}

impl Cell {
    pub(super) const NONE: u16 = u16::MAX;
    pub(super) const NO_TEMPO: i16 = i16::MIN;

    /// All zero: a place that has not been written yet.
    pub(super) const BLANK: Self =
        Self { cost: 0, event: 0, note: 0, tempo: 0, start: 0, before: 0 };

    /// Where no way leads.
    const NOWHERE: Self = Self::start(u16::MAX);

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

    /// The cell reached from here by matching an event with played notes, of which `note` is the
    /// first.
    #[must_use]
    pub(super) fn matched(self, event: usize, note: usize, cost: u16, tempo: i16) -> Self {
        let mut cell = Self { cost, event: event as u16, note: note as u16, tempo, ..self };
        if self.event == Self::NONE {
            // The first event that is matched begins an attempt.
            cell.start = cell.note;
        }
        cell
    }

    #[must_use]
    pub(super) const fn lowered(self, by: u16) -> Self {
        let cost = self.cost.saturating_sub(by);
        Self { cost, before: self.before.saturating_sub(by), ..self }
    }

    #[inline(always)]
    #[must_use]
    pub(super) const fn dearer(self, by: u16) -> Self {
        Self { cost: self.cost.saturating_add(by), ..self }
    }
}

/// What a column keeps for each note of the event that follows it, at most: for a single note the
/// current row and the one above, and for one of two notes the four that it looks back on. The last
/// column needs two more.
pub(super) const CELLS_A_NOTE: usize = 2;

/// The most rows that a column keeps: what the largest event looks back on.
const MOST_ROWS: usize = NOTES_TOGETHER + 2;

/// The last rows of costs: for each column, as many as the next event can look back. In its place
/// the table has a capacity; what works with it has a view.
#[derive(Clone, Debug)]
pub(super) struct Cells<T: ?Sized = [[Cell; CELLS_A_NOTE]]> {
    /// For columns of so many rows, which of them is the current one: kept, because the smallest
    /// processors cannot divide.
    current: [u8; MOST_ROWS + 1],
    /// What goes beyond the table: the last column.
    last: [Cell; 2],
    /// What was in the place that was written last, where a chord follows and looks back on it.
    oldest: Cell,
    table: T,
}

impl<const EXPECTED: usize> Cells<[[Cell; CELLS_A_NOTE]; EXPECTED]> {
    /// Nothing written.
    pub(super) const NONE: Self = Self {
        current: [0; MOST_ROWS + 1],
        last: [Cell::BLANK; 2],
        oldest: Cell::BLANK,
        table: [[Cell::BLANK; CELLS_A_NOTE]; EXPECTED],
    };
}

impl Cells {
    /// Goes back to row 0.
    pub(super) fn begin(&mut self) {
        self.current = [0; MOST_ROWS + 1];
    }

    /// Goes on to the next row.
    pub(super) fn advance(&mut self) {
        for (rows, current) in (0..).zip(&mut self.current) {
            *current = if *current + 1 >= rows { 0 } else { *current + 1 };
        }
    }

    /// The cell of a column, `back` rows before the current one.
    // Not for every cell, so it is there once.
    #[inline(never)]
    pub(super) fn get(&self, column: Column, back: usize) -> &Cell {
        self.at(self.slot(column, back))
    }

    /// The cell in a slot.
    #[inline(always)]
    pub(super) fn at(&self, slot: usize) -> &Cell {
        let table = self.table.as_flattened();
        match table.get(slot) {
            Some(cell) => cell,
            None => self.beyond(slot),
        }
    }

    /// The cell in a slot of the last column, where that is beyond the table.
    #[cold]
    #[inline(never)]
    fn beyond(&self, slot: usize) -> &Cell {
        let beyond = slot.saturating_sub(self.table.as_flattened().len());
        self.last.get(beyond).unwrap_or(&Cell::NOWHERE)
    }

    #[cold]
    #[inline(never)]
    fn put_beyond(&mut self, slot: usize, cell: Cell) {
        let beyond = slot.saturating_sub(self.table.as_flattened().len());
        if let Some(slot) = self.last.get_mut(beyond) {
            *slot = cell;
        }
    }

    /// The cell of a column that an event of so many played notes goes on from. Only the event
    /// behind the column that was written last in this row may look back as far as there are rows.
    #[inline(always)]
    pub(super) fn before(&self, column: Column, notes: usize) -> &Cell {
        if notes == column.rows { &self.oldest } else { self.get(column, notes) }
    }

    /// Keeps what is in a slot until the event behind the column has looked back on it.
    #[inline(always)]
    pub(super) fn keep(&mut self, column: Column, slot: usize) {
        if column.rows > 2 {
            self.oldest = *self.at(slot);
        }
    }

    /// What is kept of a column.
    pub(super) fn column(&self, column: Column) -> impl Iterator<Item = &Cell> {
        (column.first..column.first + column.rows).map(|slot| self.at(slot))
    }

    /// Nothing has led to a column so far.
    pub(super) fn clear(&mut self, column: Column) {
        for slot in column.first..column.first + column.rows {
            self.put(slot, Cell::NOWHERE);
        }
    }

    /// Takes `by` off every cost in the columns up to `last`.
    pub(super) fn lower(&mut self, last: Column, by: u16) {
        let table = self.table.as_flattened_mut().iter_mut().chain(&mut self.last);
        for cell in table.take(last.first + last.rows) {
            *cell = cell.lowered(by);
        }
    }

    /// Writes the cell of a column in the current row.
    // Not for every cell, so it is there once.
    #[inline(never)]
    pub(super) fn set(&mut self, column: Column, cell: Cell) {
        self.put(self.slot(column, 0), cell);
    }

    /// Writes the cell in a slot.
    #[inline(always)]
    pub(super) fn put(&mut self, slot: usize, cell: Cell) {
        match self.table.as_flattened_mut().get_mut(slot) {
            Some(slot) => *slot = cell,
            None => self.put_beyond(slot, cell),
        }
    }

    /// Writes the cell of another slot there, at a cost of its own.
    #[inline(always)]
    pub(super) fn copy(&mut self, from: usize, slot: usize, cost: u16) {
        self.put(slot, Cell { cost, ..*self.at(from) });
    }

    /// Where the cells of a column lie in the current row and in the one above.
    #[inline(always)]
    pub(super) fn slots(&self, column: Column) -> (usize, usize) {
        let current = usize::from(self.current.get(column.rows).copied().unwrap_or(0));
        let above = if current == 0 { column.rows } else { current } - 1;
        (column.first + current, column.first + above)
    }

    /// Where the cell of a column lies, `back` rows before the current one.
    #[inline(always)]
    pub(super) fn slot(&self, column: Column, back: usize) -> usize {
        let current = usize::from(self.current.get(column.rows).copied().unwrap_or(0));
        // Nobody looks back further than a column has rows.
        let row = if back <= current { current } else { current + column.rows };
        (column.first + row).saturating_sub(back)
    }
}

/// Where the history of a column lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    first: usize,
    rows: usize,
}

impl Column {
    /// No column.
    pub(super) const NONE: Self = Self { first: 0, rows: 0 };

    /// The one before this, behind which `event` follows.
    pub(super) fn back(self, event: Option<&Event>) -> Self {
        let rows = Self::rows_before(event);
        Self { first: self.first.saturating_sub(rows), rows }
    }

    /// The column before the first event.
    pub(super) fn first(events: &[Event]) -> Self {
        Self { first: 0, rows: Self::rows_before(events.first()) }
    }

    /// The one after this, before `event` or, without one, after the last.
    #[inline(always)]
    pub(super) fn next(self, event: Option<&Event>) -> Self {
        Self { first: self.first + self.rows, rows: Self::rows_before(event) }
    }

    /// The column after all events.
    pub(super) fn last(events: &[Event]) -> Self {
        let columns = (1..=events.len()).map(|next| events.get(next));
        columns.fold(Self::first(events), Self::next)
    }

    /// What the next event can look back on, and the current row: a single note, and the row that
    /// follows the last column, on one row. The oldest row that a chord looks back on makes room
    /// for the current one, see [`Cells::keep`].
    #[inline(always)]
    fn rows_before(event: Option<&Event>) -> usize {
        event.map_or(2, |event| event.most_notes().max(2))
    }
}
