//! A foot switch on a pin.

use crate::feet::{Press, Switch};
use crate::units::Instant;
use embedded_hal::digital::InputPin;

/// A switch on a pin that it pulls to ground.
#[derive(Debug)]
pub struct FootSwitch<P> {
    pin: P,
    switch: Switch,
}

impl<P: InputPin> FootSwitch<P> {
    /// A switch on `pin`, which is low while the switch is closed.
    pub const fn new(pin: P) -> Self {
        Self { pin, switch: Switch::new() }
    }

    /// Asks the pin.
    ///
    /// # Errors
    ///
    /// The pin's.
    pub fn poll(&mut self, now: Instant) -> Result<Option<Press>, P::Error> {
        let closed = self.pin.is_low()?;
        Ok(self.switch.sample(closed, now))
    }

    /// The switch.
    pub const fn switch(&self) -> &Switch {
        &self.switch
    }

    /// The switch, to pass over a press.
    pub const fn switch_mut(&mut self) -> &mut Switch {
        &mut self.switch
    }
}
