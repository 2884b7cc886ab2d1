//! Simulated learners, who practise a study of three bars with the engine of practice, and what becomes of
//! it: how often the hard place is clean, how long the goal takes, how long they wait.
//!
//! A learner is a model, event by event: no notes are played here. Whether an attempt is clean, and where
//! it failed, is told to practice as a judge without mistakes would tell it. What the judge makes of notes
//! is measured elsewhere.

mod model;
mod music;
mod sitting;
mod table;

pub use model::{LEARNERS, Learner};
pub use music::{EVENTS, Note, notes};
pub use sitting::{Figures, Rule, sitting};
pub use table::{figures, row, table};
