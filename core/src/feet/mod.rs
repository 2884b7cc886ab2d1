//! What two feet on two switches say, whatever the switches are: contacts of a board, or a MIDI pedal at a
//! computer.
//!
//! ```text
//! contacts ──> Switch (one: short, long) ──> Pair (two: once, twice, held, both) ──> what it asks for
//! ```

mod meaning;
mod pair;
mod switch;

pub use meaning::{asked, offered, steps};
pub use pair::{Gesture, Pair, Steps};
pub use switch::{Press, Switch};
