//! The whole pedal on the emulated board. What happens to it is in a table that the emulator has
//! put into its memory; without one, a simulated player practises the built-in study. What would
//! be seen and heard, and what is sent to a computer, comes on the first serial port.
#![no_std]
#![no_main]

use core::fmt::Write as _;

use cortex_m_rt::entry;
use evenhand_core::link::Store as _;
use evenhand_core::pack::Pack;
use evenhand_core::practice::Engine;
use evenhand_core::session::Session;
use evenhand_core::units::Instant;
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::{end, give_up};
use evenhand_mps2_board::figures::{paint_stack, stack_here, stack_used};
use evenhand_mps2_board::memory;
use evenhand_mps2_board::table::{End, Scripted, Table, hexadecimal};
use evenhand_pedal::board::Board;
use evenhand_pedal::contacts::{ContactPanel, Contacts};
use evenhand_pedal::log_board::LogBoard;
use evenhand_pedal::memory::{Identity, Memory};
use evenhand_pedal::pedal::PIECES;
use evenhand_pedal::ram_flash::{RamFlash, SECTOR};
use evenhand_pedal::simulated_player::SimulatedPlayer;
use evenhand_pedal::study::{BUILT_IN, session_config};
use evenhand_pedal::{Pedal, Unit};

/// Sectors for results, of the 128 that there are.
const FOR_RESULTS: usize = 64;

static CONTACTS: Contacts = Contacts::new();

/// The large parts of a pedal, which live longer than its power is on.
struct Parts {
    session: &'static mut Session,
    engine: &'static mut Engine<PIECES>,
    flash: &'static mut [u8],
}

/// The emulated pedal.
type EmulatedUnit<'p> = Unit<'p, ContactPanel<'static>, RamFlash<'p>, PIECES>;

/// A pedal whose power has just come, and goes after so many steps of its flash.
// Not inlined: its parts are moved into it, and stand twice on the stack until then.
#[inline(never)]
fn power_on(parts: &mut Parts, cut_after: Option<u32>) -> EmulatedUnit<'_> {
    let Parts { session, engine, flash } = parts;
    let identity = Identity { board: "mps2-an386", device: 386, chance: 1 };
    let flash = RamFlash::new(flash);
    let flash = match cut_after {
        Some(steps) => flash.cut_after(steps),
        None => flash,
    };
    let memory = Memory::open(flash, FOR_RESULTS, identity);
    engine.clear();
    // A session's time goes on for as long as it lives; after a restart it begins anew.
    session.reset();
    let pedal = Pedal::new(engine, session, session_config(), &memory, Instant::ZERO);
    Unit::new(pedal, CONTACTS.panel(), memory)
}

/// The pedal from when its power comes until it goes, and its memory afterwards.
#[inline(never)]
fn live<'p>(
    parts: &'p mut Parts,
    cut_after: Option<u32>,
    board: &mut impl Board,
) -> Memory<RamFlash<'p>> {
    let mut unit = power_on(parts, cut_after);
    while unit.turn(board) {}
    let lost = unit.lost();
    let memory = unit.into_memory();
    if lost > 0 && !memory.flash().is_off() {
        give_up(format_args!("{lost} results were lost"));
    }
    memory
}

#[entry]
fn main() -> ! {
    static mut SESSION: Session = Session::idle();
    static mut ENGINE: Engine<PIECES> = Engine::new();
    let Some(flash) = memory::flash() else { give_up(format_args!("no flash")) };
    flash.fill(0xff);
    let mut parts = Parts { session: SESSION, engine: ENGINE, flash };
    match Table::find(memory::table()) {
        Some(table) => scripted(table, &mut parts),
        None => performed(&mut parts),
    }
    end(true)
}

/// A simulated player practises. Not inlined, as the player takes much stack.
#[inline(never)]
fn performed(parts: &mut Parts) {
    let log_board = LogBoard::new(&CONTACTS, Serial::first());
    let study = match Pack::open(BUILT_IN) {
        Ok(study) => study,
        Err(problem) => give_up(format_args!("the built-in study: {problem}")),
    };
    let mut player = SimulatedPlayer::new(study, log_board, &CONTACTS);
    let memory = live(parts, None, &mut player);
    let kept = memory.next() - memory.oldest();
    if player.board().failed() || kept != player.attempts() || kept == 0 {
        give_up(format_args!("{kept} results of {} attempts", player.attempts()));
    }
}

/// What the table says happens.
#[inline(never)]
fn scripted(mut table: Table, parts: &mut Parts) {
    let mut cut_after = None;
    let mut out = Serial::first();
    paint_stack();
    loop {
        let mut board = Scripted::new(&mut table, &CONTACTS, Serial::first());
        let memory = live(parts, cut_after, &mut board);
        let ended = board.end();
        cut_after = None;
        match ended {
            End::Over => break,
            End::Restart => {}
            End::CutAfter(steps) => cut_after = Some(u32::from(steps)),
            End::Harvest => {
                harvest(&memory, &mut out);
                // As if there had been none: what a computer has only fetched is still known in the next sitting.
                let results = FOR_RESULTS * SECTOR;
                parts.flash.get_mut(..results).unwrap_or_default().fill(0xff);
            }
        }
    }
    let (all, script) = (stack_used(), stack_here());
    let _ = writeln!(Serial::second(), "stack: {all} bytes, {script} of them the script's");
}

/// Prints all results.
fn harvest(memory: &Memory<RamFlash<'_>>, out: &mut Serial) {
    let _ = out.write_str("results:\n");
    for number in memory.oldest()..memory.next() {
        hexadecimal(out, memory.result(number).unwrap_or_default());
    }
}
