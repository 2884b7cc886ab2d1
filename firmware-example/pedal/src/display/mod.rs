//! A small display, 128 by 64 points: one calm page of what the pedal knows.
//!
//! [`PageWriter`] is told what a [`Board`](crate::board::Board) is told and keeps the page;
//! [`Page::draw`] puts it onto any display that `embedded-graphics` can draw on. A page changes
//! when something has happened, and stands still while somebody plays; nothing on it blinks or
//! moves. The lamps say all that is needed without it.

mod draw;
mod findings;
mod page;
mod page_writer;
mod reasons;
mod text_line;

pub use page::Page;
pub use page_writer::PageWriter;
pub use text_line::{COLUMNS, TextLine};
