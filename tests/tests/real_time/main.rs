//! What can only be seen in real time: bytes as they come, kills, terminals. These tests wait more than
//! they work, so many of them run at once.

mod burst;
mod listen;
mod log;
mod record;
mod seen;
mod spoken;
mod terminal;
mod waited_for;
