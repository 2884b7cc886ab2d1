//! What the log knows of a study from earlier days, and what is due today.

mod due;
mod known;
mod study;

pub use due::{Due, Why, due};
pub use known::PieceDays;
pub use study::StudyDays;
pub(crate) use study::today;
