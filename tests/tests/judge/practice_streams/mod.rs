//! What real practice is made of, through the program: `listen --timed` says what it was.
//!
//! Music and streams are made here (`studies.rs`, `evenhand_tests::timed`): a steady hand that goes
//! back, leaves out, loops, begins and breaks off as a test wants it.

mod false_starts;
mod heard;
mod loops;
mod play_through;
mod repeats;
mod returns;
mod studies;
mod times;
mod voices;
