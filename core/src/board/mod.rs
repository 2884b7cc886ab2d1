//! Parts of a board that any pedal has: foot switches and lamps, over `embedded-hal` pins.
//!
//! Time is an argument here, too: a switch is asked at a time, and says when to ask again.

mod lamp;
mod switch;

pub use lamp::{Lamp, Pattern};
pub use switch::{FootSwitch, Press, Switch};
