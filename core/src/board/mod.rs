//! Parts of a board that any pedal has: foot switches and lamps, over `embedded-hal` pins.
//!
//! Time is an argument here, too: a switch is asked at a time, and says when to ask again.

mod foot_switch;
mod lamp;

pub use foot_switch::FootSwitch;
pub use lamp::{Lamp, Pattern};
