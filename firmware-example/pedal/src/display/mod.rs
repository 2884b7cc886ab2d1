//! A small display, 128 by 64 points: one calm page of what the pedal knows.
//!
//! [`Scribe`] is told what a [`Floor`](crate::floor::Floor) is told and keeps the page;
//! [`Page::draw`] puts it onto any display that `embedded-graphics` can draw on. A page changes
//! when something has happened, and stands still while somebody plays; nothing on it blinks or
//! moves. The lamps say all that is needed without it.

mod draw;
mod findings;
mod line;
mod page;
mod reasons;
mod scribe;

pub use line::{COLUMNS, Line};
pub use page::Page;
pub use scribe::Scribe;
