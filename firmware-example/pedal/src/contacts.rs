//! Switches and lamps that are not there: pins for emulated boards and tests.

use core::convert::Infallible;
use core::sync::atomic::{AtomicBool, Ordering};

use embedded_hal::digital::{ErrorType, InputPin, OutputPin};

use crate::controls::Panel;

/// A pin that is a place in memory. As a switch it is closed while it is set, and then low; as a
/// lamp it is lit while it is set.
#[derive(Debug, Default)]
pub struct Contact(AtomicBool);

impl Contact {
    /// An open switch, a dark lamp.
    pub const fn new() -> Self {
        Self(AtomicBool::new(false))
    }

    /// Closes or opens it, lights or darkens it.
    pub fn set(&self, set: bool) {
        self.0.store(set, Ordering::Relaxed);
    }

    /// Whether it is closed, or lit.
    pub fn is_set(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl ErrorType for &Contact {
    type Error = Infallible;
}

impl InputPin for &Contact {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(!self.is_set())
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(self.is_set())
    }
}

impl OutputPin for &Contact {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.set(false);
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        self.set(true);
        Ok(())
    }
}

/// All switches and lamps of a pedal.
#[derive(Debug, Default)]
pub struct Contacts {
    /// The switches, left and right.
    pub switches: [Contact; 2],
    /// The lamps, left to right.
    pub lamps: [Contact; 3],
}

/// A panel of contacts.
pub type ContactPanel<'a> = Panel<&'a Contact, &'a Contact, &'a Contact, &'a Contact, &'a Contact>;

impl Contacts {
    /// All open and dark.
    pub const fn new() -> Self {
        Self { switches: [const { Contact::new() }; 2], lamps: [const { Contact::new() }; 3] }
    }

    /// The panel that these are the pins of.
    pub fn panel(&self) -> ContactPanel<'_> {
        let [left, right] = &self.switches;
        let [first, second, third] = &self.lamps;
        Panel::new(left, right, (first, second, third))
    }

    /// The lamps that are lit, left to right, as `# . .`.
    pub fn row(&self) -> [char; 3] {
        [&self.lamps[0], &self.lamps[1], &self.lamps[2]]
            .map(|lamp| if lamp.is_set() { '#' } else { '.' })
    }
}
