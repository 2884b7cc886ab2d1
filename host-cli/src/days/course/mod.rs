//! A course over a year: which study from when to when, and how it stands.

mod standing;
mod text;

pub use standing::{Standing, UnderWay, standing};
pub use text::{Course, CourseProblem, LARGEST_COURSE, Planned, parse};
