//! The same as `two_sizes.rs`, with sessions of one size.
#![no_std]
#![no_main]

mod performance;

use cortex_m_rt::entry;
use evenhand_core::session::Session;
use evenhand_mps2_board::ending::end;

#[entry]
fn main() -> ! {
    static mut FIRST: Session<16, 64> = Session::idle();
    static mut SECOND: Session<16, 64> = Session::idle();
    performance::judge(FIRST);
    performance::judge(SECOND);
    end(true)
}
