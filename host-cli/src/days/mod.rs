//! What the log knows of a study from earlier days, and what is due today.

mod alike;
mod breaks;
pub mod course;
mod day;
mod due;
mod evening;
mod known;
mod study;

pub use breaks::{Breaks, BreaksAt};
pub use day::{ColdTry, DayPlayed};
pub(crate) use day::{day_of, today};
pub use due::{Due, Why};
pub use evening::due;
pub use known::PieceDays;
pub use study::StudyDays;
pub(crate) use study::has_played;
