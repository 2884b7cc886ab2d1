//! The judge in little RAM twice, with sessions of two sizes: the code that judges is there once, and
//! how much larger than with one the image is, is measured.
#![no_std]
#![no_main]

mod performance;

use cortex_m_rt::entry;
use evenhand_core::session::Session;
use evenhand_mps2_board::ending::end;

#[entry]
fn main() -> ! {
    static mut FIRST: Session<16, 64> = Session::idle();
    static mut SECOND: Session<32, 128> = Session::idle();
    performance::judge(FIRST);
    performance::judge(SECOND);
    end(true)
}
