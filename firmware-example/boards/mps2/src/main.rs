//! The pedal on Arm's MPS2 board: judges the built-in performances and ends the emulator,
//! with success only if all of that went well.
//!
//! The first serial port carries what the pedal says, the same on every run and with every
//! compiler; the second carries figures of this run.
#![no_std]
#![no_main]

use core::fmt::Write as _;

use cortex_m_rt::entry;
use evenhand_core::session::Session;
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::{end, give_up};
use evenhand_mps2_board::figures::{Timing, paint_stack, stack_used};
use evenhand_pedal::script::Script;
use evenhand_pedal::{built_in, practise};

#[entry]
fn main() -> ! {
    // Made before anything runs, because it is by far the largest thing there is: the stack never
    // has to hold it.
    static mut SESSION: Session<'static> = Session::idle();
    let mut out = Serial::first();
    let chunk = match built_in::chunk() {
        Ok(chunk) => chunk,
        Err(error) => give_up(format_args!("the built-in chunk: {error}")),
    };
    SESSION.change(chunk, built_in::hearing());
    let stack_to_begin = stack_used();
    paint_stack();
    let mut input = Timing::new(Script::new(&built_in::BYTES));
    if practise(SESSION, &mut input, &mut out).is_err() {
        give_up(format_args!("the report could not be written"));
    }

    let mut figures = Serial::second();
    // A port that cannot be written to shows as missing figures.
    let _ = writeln!(figures, "session {} bytes", size_of::<Session<'_>>());
    let _ = writeln!(figures, "stack to make a session {stack_to_begin} bytes");
    let _ = writeln!(figures, "stack to judge {} bytes", stack_used());
    let longest = input.longest();
    let _ = writeln!(figures, "longest time between two bytes {longest} us");
    end(true)
}
