//! The page that a player reads from two metres away.
//!
//! [`Page`] says what stands on it, [`draw`] puts it into cells, [`Terminal`] shows it and
//! gives the terminal back on any exit.
//! Nothing here moves by itself: the page changes when something has happened.

mod draw;
mod layout;
mod letters;
mod page;
mod terminal;
mod typed;

pub use draw::{TerminalStyle, draw};
pub use page::{Page, PracticeState, SeenBeat};
pub use terminal::{Key, Keys, Terminal, key};
pub use typed::Typed;

#[cfg(test)]
mod tests;
