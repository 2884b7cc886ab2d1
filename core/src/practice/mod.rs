//! Practice: verdicts to the next tempo, chunk, join or variation, and all of it in time.
//!
//! [`Staircase`] is the tempo of one piece. [`Practice`] holds the pieces of a study (chunks,
//! halves, joins) and says after each attempt what to play and why:
//!
//! * on by leaps as long as nothing fails, then up after clean attempts in a row, down after one that
//!   is not ([`rules`]);
//! * what failed where is kept ([`EventResults`]); one event that fails clearly more often than the
//!   others is practised alone, with the notes around it, until it has grown back into the whole;
//! * a note that is misread is named, and the tempo stays;
//! * where nothing gets faster any more, something is changed;
//! * where raises do not hold, half steps first, then choices of equal standing;
//! * too few clean ones: slower, or shorter;
//! * one piece until it is clean for the first time, then by turns;
//! * neighbours that are clean are joined, halves into chunks, chunks into lines.
//!
//! [`Engine`] adds when: what was said is read, a bar is counted in, an attempt comes.
//!
//! Time is an argument. Nothing is kept but what stands in [`Practice`], whose size
//! is chosen by the caller; a pedal may hold fewer pieces than a computer.

mod clean_row;
mod click;
mod engine;
mod event_results;
mod misread;
mod piece;
mod pieces;
mod place_record;
mod rest;
pub mod rules;
mod share;
mod staircase;
mod step;

pub use clean_row::{CleanRow, KeptAttempt};
pub use click::{Beat, ClickTrack, CountIn};
pub use engine::{Due, Engine, Pacing, Press, Stage};
pub use event_results::{EventResults, WrongPitch};
pub use piece::{ChunkFacts, Earlier, Piece, Side, Spot};
pub use pieces::Practice;
pub use rules::Rules;
pub use staircase::{Move, Raises, Staircase};
pub use step::{
    Attempt, AttemptResult, Choice, Choices, NotPossible, PracticeVariant, Reason, Step, Task,
};

#[cfg(test)]
mod tests;
