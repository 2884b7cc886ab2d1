//! What comes next: verdicts to the next tempo, chunk, join or variation.
//!
//! [`Staircase`] is the tempo of one piece. [`Practice`] holds the pieces of a study (chunks,
//! halves, joins) and says after each attempt what to play and why:
//!
//! * up after clean attempts in a row, down after one that is not ([`rules`]);
//! * where raises do not hold, half steps first, then choices of equal standing;
//! * too few clean ones: slower, or shorter;
//! * one piece until it is clean for the first time, then by turns;
//! * neighbours that are clean are joined, halves into chunks, chunks into lines.
//!
//! Time is an argument, in seconds. Nothing is kept but what stands in [`Practice`], whose size
//! is chosen by the caller; a pedal may hold fewer pieces than a computer.

mod piece;
mod practice;
mod rest;
pub mod rules;
mod share;
mod staircase;
mod step;

pub use piece::{Earlier, Facts, Piece, Side};
pub use practice::Practice;
pub use rules::Rules;
pub use staircase::{Move, Raises, Staircase};
pub use step::{Attempt, Choice, Choices, Heard, NotPossible, Reason, Step, Task, Way};

#[cfg(test)]
mod tests;
