//! What happens to the board, as a table that the emulator puts into its memory: bytes on the
//! MIDI line and from the computer, feet, and the power.
//!
//! A table begins with `EvhT` and the number of its entries; an entry has eight bytes: how many
//! microseconds after the one before (four bytes), what, a value (a byte each), two more bytes.
//! All numbers are little-endian.

use core::fmt::Write;

use evenhand_core::practice::Step;
use evenhand_core::units::Instant;
use evenhand_pedal::board::{Board, BoardEvent};
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::lights::View;
use evenhand_pedal::log_board::LogBoard;
use evenhand_pedal::observer::{Judgement, Observer};

/// Something that happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Entry {
    Midi(u8),
    /// The left switch is 0.
    Switch(usize, bool),
    Link(u8),
    /// The power goes and comes back, and is cut after so many steps of writing to the flash.
    CutAfter(u16),
    /// The power comes back, or goes and comes.
    Restart,
    /// From here on everything is written down, or only what is sent to the computer.
    Talk(bool),
    /// The results are printed and erased, and the power goes and comes.
    Harvest,
}

/// Why a life of the pedal ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The table is over.
    Over,
    /// The power goes and comes back; in the next life it will be cut after so many steps.
    Restart,
    /// The same, after the results were printed.
    Harvest,
    /// It is to be cut after so many steps.
    CutAfter(u16),
}

/// A table that is being read.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    entries: &'static [u8],
    talks: bool,
}

impl Table {
    /// The table in memory, if there is one.
    pub fn find(memory: &'static [u8]) -> Option<Self> {
        let rest = memory.strip_prefix(b"EvhT")?;
        let (count, rest) = rest.split_first_chunk()?;
        let count = u32::from_le_bytes(*count) as usize;
        Some(Self { entries: rest.get(..count.checked_mul(8)?)?, talks: false })
    }

    /// The next entry and how long after the one before it.
    fn peek(&self) -> Option<(u32, Entry)> {
        let ([a, b, c, d, what, value, low, high], _) = self.entries.split_first_chunk()?;
        let entry = match what {
            0 => Entry::Midi(*value),
            1 | 2 => Entry::Switch(usize::from(what - 1), *value != 0),
            3 => Entry::Link(*value),
            4 => Entry::CutAfter(u16::from_le_bytes([*low, *high])),
            5 => Entry::Restart,
            7 => Entry::Talk(*value != 0),
            _ => Entry::Harvest,
        };
        Some((u32::from_le_bytes([*a, *b, *c, *d]), entry))
    }

    fn skip(&mut self) {
        self.entries = self.entries.get(8..).unwrap_or_default();
    }
}

/// A board to which happens what the table says.
pub struct Scripted<'t, W> {
    table: &'t mut Table,
    contacts: &'static Contacts,
    log_board: LogBoard<'static, W>,
    now: Instant,
    end: End,
}

impl<'t, W: Write> Scripted<'t, W> {
    /// A board at its time 0.
    pub fn new(table: &'t mut Table, contacts: &'static Contacts, out: W) -> Self {
        let log_board = LogBoard::new(contacts, out);
        Self { table, contacts, log_board, now: Instant::ZERO, end: End::Over }
    }

    /// Why it ended.
    pub const fn end(&self) -> End {
        self.end
    }
}

impl<W: Write> Observer for Scripted<'_, W> {
    fn click(&mut self, strong: bool, at: Instant) {
        if self.table.talks {
            self.log_board.click(strong, at);
        }
    }

    fn judged(&mut self, judgement: &Judgement<'_>) {
        if self.table.talks {
            self.log_board.judged(judgement);
        }
    }

    fn next(&mut self, step: &Step, at: Instant) {
        if self.table.talks {
            self.log_board.next(step, at);
        }
    }
}

impl<W: Write> Board for Scripted<'_, W> {
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent {
        let Some((after, entry)) = self.table.peek() else { return BoardEvent::End };
        let at = Instant::from_micros(self.now.as_micros() + u64::from(after));
        if let Some(until) = until.filter(|until| *until < at) {
            return BoardEvent::Nothing { at: until };
        }
        self.table.skip();
        self.now = at;
        let end = match entry {
            Entry::Midi(byte) => return BoardEvent::Midi { byte, at },
            Entry::Link(byte) => return BoardEvent::Link { byte, at },
            Entry::Switch(switch, down) => {
                if let Some(switch) = self.contacts.switches.get(switch) {
                    switch.set(down);
                }
                return BoardEvent::Nothing { at };
            }
            Entry::Talk(talks) => {
                self.table.talks = talks;
                return BoardEvent::Nothing { at };
            }
            Entry::CutAfter(steps) => End::CutAfter(steps),
            Entry::Restart => End::Restart,
            Entry::Harvest => End::Harvest,
        };
        self.end = end;
        BoardEvent::End
    }

    fn send(&mut self, frame: &[u8]) {
        let out = self.log_board.out();
        let _ = out.write_str("to the computer: ");
        hexadecimal(out, frame);
    }

    fn look(&mut self, view: View, now: Instant) {
        if self.table.talks {
            self.log_board.look(view, now);
        }
    }
}

/// Bytes as a line of hexadecimal digits.
pub fn hexadecimal(out: &mut impl Write, bytes: &[u8]) {
    for byte in bytes {
        let _ = write!(out, "{byte:02x}");
    }
    let _ = writeln!(out);
}
