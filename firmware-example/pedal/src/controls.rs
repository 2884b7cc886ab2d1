//! Two foot switches and three lamps, on whatever pins a board has.

use embedded_hal::digital::{InputPin, OutputPin};
use evenhand_core::board::{FootSwitch, Lamp, Press};
use evenhand_core::units::{Instant, Offset};

/// Both switches held together say "it hurts" when they have been down this long. Our default:
/// longer than a long press of one, so that a foot that slips says nothing, and short enough for
/// somebody in pain.
pub const BOTH: Offset = Offset::from_millis(1_000);

/// Both pressed within this time, and let go before they say that it hurts, were meant together. Our
/// default: one foot across both takes less, one after the other more.
pub const AT_ONCE: Offset = Offset::from_millis(150);

/// What feet said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Gesture {
    /// The left switch.
    Left(Press),
    /// The right switch.
    Right(Press),
    /// Both held: it hurts.
    Both,
    /// Both at once, and let go soon: that was right.
    BothShort,
}

/// Switches and lamps, whatever their pins are.
pub trait Controls {
    /// Asks the switches.
    fn gesture(&mut self, now: Instant) -> Option<Gesture>;

    /// When to ask again if no contact changes until then.
    fn poll_at(&self) -> Option<Instant>;

    /// Lights the lamps, left to right.
    fn show(&mut self, lit: [bool; 3]);
}

/// The switches and lamps of a pedal, left to right.
#[derive(Debug)]
pub struct Panel<L, R, A, B, C> {
    left: FootSwitch<L>,
    right: FootSwitch<R>,
    lamps: (Lamp<A>, Lamp<B>, Lamp<C>),
    /// Both are or were down: neither says anything by itself until both are up.
    together: Option<Together>,
    /// When the first of them went down.
    first: Option<Instant>,
}

#[derive(Clone, Copy, Debug)]
struct Together {
    since: Instant,
    /// Both were pressed at once.
    at_once: bool,
    told: bool,
}

impl<L: InputPin, R: InputPin, A: OutputPin, B: OutputPin, C: OutputPin> Panel<L, R, A, B, C> {
    /// A panel of these pins: switches pull theirs low, lamps light while theirs is high.
    pub fn new(left: L, right: R, lamps: (A, B, C)) -> Self {
        Self {
            left: FootSwitch::new(left),
            right: FootSwitch::new(right),
            lamps: (Lamp::new(lamps.0), Lamp::new(lamps.1), Lamp::new(lamps.2)),
            together: None,
            first: None,
        }
    }
}

impl<L: InputPin, R: InputPin, A: OutputPin, B: OutputPin, C: OutputPin> Controls
    for Panel<L, R, A, B, C>
{
    /// A pin that cannot be read says nothing.
    fn gesture(&mut self, now: Instant) -> Option<Gesture> {
        let left = self.left.poll(now).ok().flatten();
        let right = self.right.poll(now).ok().flatten();
        let (left_down, right_down) = (self.left.switch().is_down(), self.right.switch().is_down());
        if !left_down && !right_down {
            self.first = None;
        } else if self.first.is_none() {
            self.first = Some(now);
        }
        if left_down && right_down && self.together.is_none() {
            let at_once = self.first.is_some_and(|first| now.since(first) <= AT_ONCE);
            self.together = Some(Together { since: now, at_once, told: false });
        }
        if let Some(together) = &mut self.together {
            self.left.switch_mut().pass_over();
            self.right.switch_mut().pass_over();
            if !left_down && !right_down {
                let said = together.at_once && !together.told;
                self.together = None;
                return said.then_some(Gesture::BothShort);
            } else if !(left_down && right_down) {
                // One after the other, and not for long, was not meant.
                let said = together.at_once && !together.told;
                together.told = true;
                return said.then_some(Gesture::BothShort);
            } else if !together.told && now.since(together.since) >= BOTH {
                together.told = true;
                return Some(Gesture::Both);
            }
            return None;
        }
        left.map(Gesture::Left).or(right.map(Gesture::Right))
    }

    fn poll_at(&self) -> Option<Instant> {
        let both = self.together.filter(|together| !together.told);
        let both = both.map(|together| together.since.plus(BOTH));
        [self.left.switch().poll_at(), self.right.switch().poll_at(), both]
            .into_iter()
            .flatten()
            .min()
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
    extern crate std;
    use super::*;
    use core::cell::Cell;
    use core::convert::Infallible;
    use embedded_hal::digital::ErrorType;
    use std::vec::Vec;

    struct Pin<'a>(&'a Cell<bool>);
    impl ErrorType for Pin<'_> {
        type Error = Infallible;
    }
    impl InputPin for Pin<'_> {
        fn is_high(&mut self) -> Result<bool, Infallible> {
            Ok(!self.0.get())
        }
        fn is_low(&mut self) -> Result<bool, Infallible> {
            Ok(self.0.get())
        }
    }
    impl OutputPin for Pin<'_> {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.0.set(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Infallible> {
            self.0.set(true);
            Ok(())
        }
    }

    /// What is told when feet are down in these spans of milliseconds.
    fn told(left: &[(u64, u64)], right: &[(u64, u64)]) -> Vec<(u64, Gesture)> {
        let cells: [Cell<bool>; 5] = Default::default();
        let [l, r, a, b, c] = &cells;
        let mut panel = Panel::new(Pin(l), Pin(r), (Pin(a), Pin(b), Pin(c)));
        let down = |spans: &[(u64, u64)], now| spans.iter().any(|s| (s.0..s.1).contains(&now));
        (0..5_000)
            .filter_map(|now| {
                l.set(down(left, now));
                r.set(down(right, now));
                Some((now, panel.gesture(Instant::from_micros(now * 1_000))?))
            })
            .collect()
    }

    #[test]
    fn each_switch_speaks_for_itself() {
        let said = told(&[(100, 250)], &[(1_000, 2_000)]);
        assert_eq!(
            said,
            [(265, Gesture::Left(Press::Short)), (1_700, Gesture::Right(Press::Long))]
        );
    }

    #[test]
    fn both_held_say_one_thing_only() {
        let said = told(&[(100, 3_000)], &[(300, 3_100)]);
        assert_eq!(said, [(1_315, Gesture::Both)]);
        // One after the other, the second while the first is down, and not for long enough.
        assert_eq!(told(&[(100, 900)], &[(400, 700)]), []);
    }

    #[test]
    fn both_at_once_and_let_go_say_another_thing() {
        let said = told(&[(100, 500)], &[(200, 600)]);
        assert_eq!(said, [(515, Gesture::BothShort)]);
        assert_eq!(told(&[(100, 500)], &[(100, 500)]), [(515, Gesture::BothShort)]);
        assert_eq!(told(&[(100, 500)], &[(260, 500)]), [], "one after the other");
        assert_eq!(told(&[(100, 1_500)], &[(100, 1_600)]), [(1_115, Gesture::Both)], "held");
    }

    #[test]
    fn after_both_each_speaks_for_itself_again() {
        let said = told(&[(100, 1_500), (2_000, 2_200)], &[(100, 1_500)]);
        assert_eq!(said, [(1_115, Gesture::Both), (2_215, Gesture::Left(Press::Short))]);
    }
}
