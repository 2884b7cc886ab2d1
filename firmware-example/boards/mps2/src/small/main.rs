//! A judge in little RAM: a session for chunks of 16 notes hears two attempts that are written down
//! here. What it says of them comes on the first serial port; on the second, what RAM that took, and
//! what sessions of other capacities take.
#![no_std]
#![no_main]

mod performance;

use core::fmt::Write as _;

use cortex_m_rt::entry;
use evenhand_core::session::Session;
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::end;
use evenhand_mps2_board::figures::{paint_stack, stack_used, static_ram};

#[entry]
fn main() -> ! {
    static mut SESSION: Session<16, 64> = Session::idle();
    paint_stack();
    performance::judge(SESSION);
    let stack = stack_used();
    let mut out = Serial::second();
    let session = size_of_val(SESSION);
    let others = static_ram() - session;
    let _ = writeln!(out, "RAM: {session} for the session, {others} other, {stack} of stack");
    for (expected, played, bytes) in SIZES {
        let _ = writeln!(out, "Session<{expected}, {played}>: {bytes}");
    }
    end(true)
}

/// What sessions take on this processor: expected notes, played notes, bytes.
const SIZES: [(u16, u16, usize); 5] = [
    (16, 64, size_of::<Session<16, 64>>()),
    (32, 128, size_of::<Session<32, 128>>()),
    (64, 256, size_of::<Session<64, 256>>()),
    (128, 512, size_of::<Session<128, 512>>()),
    (256, 512, size_of::<Session<256, 512>>()),
];

/// So it has room in 8 KiB of RAM.
const _: () = assert!(size_of::<Session<16, 64>>() <= 8 * 1024);
