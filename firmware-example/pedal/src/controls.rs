//! Two foot switches and three lamps, on whatever pins a board has.

use embedded_hal::digital::{InputPin, OutputPin};
use evenhand_core::board::Lamp;
use evenhand_core::feet::{Gesture, Pair};
use evenhand_core::units::Instant;

/// Switches and lamps, whatever their pins are.
pub trait Controls {
    /// Asks the switches. Two presses in a row are told as one only while somebody listens for them.
    fn gesture(&mut self, hears_twice: bool, now: Instant) -> Option<Gesture>;

    /// When to ask again if no contact changes until then.
    fn poll_at(&self) -> Option<Instant>;

    /// Lights the lamps, left to right.
    fn show(&mut self, lit: [bool; 3]);
}

/// The switches and lamps of a pedal, left to right.
#[derive(Debug)]
pub struct Panel<L, R, A, B, C> {
    left: L,
    right: R,
    lamps: (Lamp<A>, Lamp<B>, Lamp<C>),
    feet: Pair,
    /// What the contacts said last.
    closed: [bool; 2],
}

impl<L: InputPin, R: InputPin, A: OutputPin, B: OutputPin, C: OutputPin> Panel<L, R, A, B, C> {
    /// A panel of these pins: switches pull theirs low, lamps light while theirs is high.
    pub fn new(left: L, right: R, lamps: (A, B, C)) -> Self {
        Self {
            left,
            right,
            lamps: (Lamp::new(lamps.0), Lamp::new(lamps.1), Lamp::new(lamps.2)),
            feet: Pair::new(),
            closed: [false; 2],
        }
    }
}

impl<L: InputPin, R: InputPin, A: OutputPin, B: OutputPin, C: OutputPin> Controls
    for Panel<L, R, A, B, C>
{
    /// A pin that cannot be read says what it said before.
    fn gesture(&mut self, hears_twice: bool, now: Instant) -> Option<Gesture> {
        let [left, right] = self.closed;
        self.closed = [self.left.is_low().unwrap_or(left), self.right.is_low().unwrap_or(right)];
        self.feet.hear_twice(hears_twice);
        self.feet.sample(self.closed, now)
    }

    fn poll_at(&self) -> Option<Instant> {
        self.feet.poll_at()
    }

    /// What cannot be written to stays as it is until the next change is tried.
    fn show(&mut self, lit: [bool; 3]) {
        let [left, middle, right] = lit;
        let _ = self.lamps.0.show(left);
        let _ = self.lamps.1.show(middle);
        let _ = self.lamps.2.show(right);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::cell::Cell;
    use embedded_hal::digital::{Error, ErrorKind, ErrorType};
    use evenhand_core::feet::Steps;

    /// Low while it is stepped on; may be broken.
    struct Pin<'a>(&'a Cell<bool>, &'a Cell<bool>);
    #[derive(Debug)]
    struct Broken;
    impl Error for Broken {
        fn kind(&self) -> ErrorKind {
            ErrorKind::Other
        }
    }
    impl ErrorType for Pin<'_> {
        type Error = Broken;
    }
    impl InputPin for Pin<'_> {
        fn is_high(&mut self) -> Result<bool, Broken> {
            self.is_low().map(|low| !low)
        }
        fn is_low(&mut self) -> Result<bool, Broken> {
            if self.1.get() { Err(Broken) } else { Ok(self.0.get()) }
        }
    }
    impl OutputPin for Pin<'_> {
        fn set_low(&mut self) -> Result<(), Broken> {
            self.0.set(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Broken> {
            self.0.set(true);
            Ok(())
        }
    }

    #[test]
    fn left_is_left_and_a_pin_that_cannot_be_read_says_nothing() {
        let cells: [Cell<bool>; 6] = Default::default();
        let [left, right, a, b, c, broken] = &cells;
        let pin = |cell| Pin(cell, broken);
        let mut panel = Panel::new(pin(left), pin(right), (pin(a), pin(b), pin(c)));
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        let asked = |panel: &mut Panel<_, _, _, _, _>, from: u64, to: u64| {
            (from..to).filter_map(|now| panel.gesture(false, at(now))).last()
        };
        left.set(true);
        assert_eq!(asked(&mut panel, 0, 100), None);
        left.set(false);
        assert_eq!(asked(&mut panel, 100, 200), Some(Gesture::Left(Steps::Once)));
        right.set(true);
        assert_eq!(asked(&mut panel, 200, 300), None);
        // The line breaks while a foot is down: as long as it is broken, the foot is.
        broken.set(true);
        right.set(false);
        assert_eq!(asked(&mut panel, 300, 400), None);
        broken.set(false);
        assert_eq!(asked(&mut panel, 400, 500), Some(Gesture::Right(Steps::Once)));
        panel.show([true, false, true]);
        assert_eq!([a.get(), b.get(), c.get()], [true, false, true]);
    }
}
