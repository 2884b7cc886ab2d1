//! A whole practice on the emulated board: a simulated player steps on the switches, plays what
//! the pedal asks for, and stops. What would be seen and heard comes on the first serial port.
#![no_std]
#![no_main]

use cortex_m_rt::entry;
use evenhand_core::next_step::Practice;
use evenhand_core::session::Session;
use evenhand_core::units::Instant;
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::{end, give_up};
use evenhand_pedal::Pedal;
use evenhand_pedal::built_in;
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::desk::{Desk, NO_NOTES, Notes};
use evenhand_pedal::diary::Diary;
use evenhand_pedal::floor::turn;
use evenhand_pedal::performer::Performer;
use evenhand_pedal::study::BuiltIn;

#[entry]
fn main() -> ! {
    static mut SESSION: Session<'static> = Session::idle();
    static mut NOTES: Notes = NO_NOTES;
    static mut PRACTICE: Practice<20> = Practice::new();
    static CONTACTS: Contacts = Contacts::new();

    let desk = Desk::new(SESSION, NOTES);
    let study = BuiltIn::new();
    let mut now = Instant::ZERO;
    let mut pedal = Pedal::new(study, PRACTICE, desk, built_in::hearing(), now);
    let mut panel = CONTACTS.panel();
    let mut performer = Performer::new(study, Diary::new(Serial::first()), &CONTACTS);
    while turn(&mut pedal, &mut panel, &mut performer, &mut now) {
        performer.room().look(now, pedal.view().0, CONTACTS.row());
    }
    if performer.room().failed() {
        give_up(format_args!("the diary could not be written"));
    }
    end(performer.attempts() > 0)
}
