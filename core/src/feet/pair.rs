//! Two switches side by side: each pressed once, twice or held, and both together.

use super::switch::{Press, Switch};
use crate::units::{Instant, Offset};

/// Both switches held together say that it hurts when they have been down this long. Our default: longer
/// than a long press of one, so that a foot that slips says nothing, and short enough for somebody in pain.
const BOTH: Offset = Offset::from_millis(1_000);

/// Both pressed within this time, and let go before they are held, were meant together. Our default: one
/// foot across both takes less, one after the other more.
pub(super) const AT_ONCE: Offset = Offset::from_millis(150);

/// A second press within this time after the first was let go is meant with it. Our default: a foot needs
/// about a quarter of a second.
pub(super) const TWICE: Offset = Offset::from_millis(400);

/// How one switch was pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Steps {
    /// Stepped on and left.
    Once,
    /// The same twice in a row.
    Twice,
    /// Held.
    Held,
}

/// What feet said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Gesture {
    /// The left switch.
    Left(Steps),
    /// The right switch.
    Right(Steps),
    /// Both at once, and let go soon.
    Both,
    /// Both held.
    BothHeld,
}

/// Which switch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Side {
    Left,
    Right,
}

impl Side {
    const fn said(self, steps: Steps) -> Gesture {
        match self {
            Self::Left => Gesture::Left(steps),
            Self::Right => Gesture::Right(steps),
        }
    }
}

/// Two switches, left and right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pair {
    left: Switch,
    right: Switch,
    /// Both are or were down: neither says anything by itself until both are up.
    together: Option<Together>,
    /// When the first of them went down.
    first: Option<Instant>,
    /// Pressed once: until then it may be pressed again.
    once: Option<(Side, Instant)>,
    /// Whether anybody listens for two presses in a row: only then one is waited with.
    hears_twice: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Together {
    since: Instant,
    /// Both were pressed at once.
    at_once: bool,
    told: bool,
}

impl Pair {
    /// Two contacts, which bounce.
    pub const fn new() -> Self {
        Self::of(Switch::new())
    }

    /// Two switches whose bounces something else has passed over, as a MIDI pedal does.
    pub const fn clean() -> Self {
        Self::of(Switch::clean())
    }

    const fn of(switch: Switch) -> Self {
        Self {
            left: switch,
            right: switch,
            together: None,
            first: None,
            once: None,
            hears_twice: false,
        }
    }

    /// From now on two presses in a row are told as one, and one press is told only when it is not followed
    /// by another; or each as soon as the foot has left.
    pub const fn hear_twice(&mut self, hears: bool) {
        self.hears_twice = hears;
    }

    /// Takes what both contacts say at `now`, left and right. Ask at [`poll_at`](Self::poll_at), too, or
    /// every few milliseconds.
    pub fn sample(&mut self, closed: [bool; 2], now: Instant) -> Option<Gesture> {
        let [left, right] = closed;
        let (left, right) = (self.left.sample(left, now), self.right.sample(right, now));
        let (left_down, right_down) = (self.left.is_down(), self.right.is_down());
        if !left_down && !right_down {
            self.first = None;
        } else if self.first.is_none() {
            self.first = Some(now);
        }
        if left_down && right_down && self.together.is_none() {
            let at_once = self.first.is_some_and(|first| now.since(first) <= AT_ONCE);
            self.together = Some(Together { since: now, at_once, told: false });
            self.once = None;
        }
        if self.together.is_some() {
            return self.both(left_down, right_down, now);
        }
        match (left, right) {
            (Some(press), _) => self.one(Side::Left, press, now),
            (None, Some(press)) => self.one(Side::Right, press, now),
            (None, None) => self.once_is_over(now),
        }
    }

    /// When to ask again if no contact changes until then.
    pub fn poll_at(&self) -> Option<Instant> {
        let both = self.together.filter(|together| !together.told);
        let both = both.map(|together| together.since.plus(BOTH));
        // While the foot is down again, that press says when.
        let once = self.once.filter(|(side, _)| !self.is_down(*side)).map(|(_, until)| until);
        [self.left.poll_at(), self.right.poll_at(), both, once].into_iter().flatten().min()
    }

    const fn is_down(&self, side: Side) -> bool {
        match side {
            Side::Left => self.left.is_down(),
            Side::Right => self.right.is_down(),
        }
    }

    /// Both are down, or were.
    fn both(&mut self, left: bool, right: bool, now: Instant) -> Option<Gesture> {
        self.left.pass_over();
        self.right.pass_over();
        let together = self.together.as_mut()?;
        if left && right {
            if together.told || now.since(together.since) < BOTH {
                return None;
            }
            together.told = true;
            return Some(Gesture::BothHeld);
        }
        // One after the other, and not for long, was not meant.
        let said = together.at_once && !together.told;
        together.told = true;
        if !left && !right {
            self.together = None;
        }
        said.then_some(Gesture::Both)
    }

    /// One of them was pressed.
    fn one(&mut self, side: Side, press: Press, now: Instant) -> Option<Gesture> {
        match (press, self.once.take()) {
            (Press::Long, _) => Some(side.said(Steps::Held)),
            (Press::Short, _) if !self.hears_twice => Some(side.said(Steps::Once)),
            (Press::Short, Some((before, _))) if before == side => Some(side.said(Steps::Twice)),
            (Press::Short, before) => {
                self.once = Some((side, now.plus(TWICE)));
                before.map(|(before, _)| before.said(Steps::Once))
            }
        }
    }

    /// A press that no second one has followed.
    fn once_is_over(&mut self, now: Instant) -> Option<Gesture> {
        let (side, until) = self.once?;
        if self.hears_twice && (now < until || self.is_down(side)) {
            return None;
        }
        self.once = None;
        Some(side.said(Steps::Once))
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::vec::Vec;

    type Span = (u64, u64);

    fn said(mut pair: Pair, left: &[Span], right: &[Span]) -> Vec<(u64, Gesture)> {
        let down = |spans: &[Span], now| spans.iter().any(|span| (span.0..span.1).contains(&now));
        (0..5_000)
            .filter_map(|now| {
                let closed = [down(left, now), down(right, now)];
                Some((now, pair.sample(closed, Instant::from_micros(now * 1_000))?))
            })
            .collect()
    }

    /// What is told when feet are down in these spans of milliseconds.
    fn told(left: &[Span], right: &[Span]) -> Vec<(u64, Gesture)> {
        said(Pair::new(), left, right)
    }

    fn told_with_twice(left: &[Span], right: &[Span]) -> Vec<(u64, Gesture)> {
        let mut pair = Pair::clean();
        pair.hear_twice(true);
        said(pair, left, right)
    }

    #[test]
    fn each_switch_speaks_for_itself() {
        let said = told(&[(100, 250)], &[(1_000, 2_000)]);
        assert_eq!(said, [(265, Gesture::Left(Steps::Once)), (1_700, Gesture::Right(Steps::Held))]);
    }

    #[test]
    fn both_held_say_one_thing_only() {
        let said = told(&[(100, 3_000)], &[(300, 3_100)]);
        assert_eq!(said, [(1_315, Gesture::BothHeld)]);
        // One after the other, the second while the first is down, and not for long enough.
        assert_eq!(told(&[(100, 900)], &[(400, 700)]), []);
    }

    #[test]
    fn both_at_once_and_let_go_say_another_thing() {
        let said = told(&[(100, 500)], &[(200, 600)]);
        assert_eq!(said, [(515, Gesture::Both)]);
        assert_eq!(told(&[(100, 500)], &[(100, 500)]), [(515, Gesture::Both)]);
        assert_eq!(told(&[(100, 500)], &[(260, 500)]), [], "one after the other");
        assert_eq!(told(&[(100, 1_500)], &[(100, 1_600)]), [(1_115, Gesture::BothHeld)], "held");
    }

    #[test]
    fn after_both_each_speaks_for_itself_again() {
        let said = told(&[(100, 1_500), (2_000, 2_200)], &[(100, 1_500)]);
        assert_eq!(said, [(1_115, Gesture::BothHeld), (2_215, Gesture::Left(Steps::Once))]);
    }

    #[test]
    fn two_presses_in_a_row_are_told_as_one_thing_where_anybody_listens_for_them() {
        let twice = [(100, 200), (350, 450)];
        let (once, double) = (Gesture::Left(Steps::Once), Gesture::Left(Steps::Twice));
        assert_eq!(told(&twice, &[]), [(215, once), (465, once)]);
        assert_eq!(told_with_twice(&twice, &[]), [(450, double)]);
        // One is waited with, and three are one and two in one order or the other.
        assert_eq!(told_with_twice(&[(100, 200)], &[]), [(600, once)]);
        assert_eq!(told_with_twice(&[(100, 200), (700, 800)], &[]), [(600, once), (1_200, once)]);
        let three = [(100, 200), (300, 400), (500, 600)];
        assert_eq!(told_with_twice(&three, &[]), [(400, double), (1_000, once)]);
        // The second press may last longer than a second one is waited for.
        assert_eq!(told_with_twice(&[(100, 200), (400, 800)], &[]), [(800, double)]);
    }

    #[test]
    fn a_press_of_the_other_one_or_a_held_one_ends_the_wait() {
        let (left, right) = (Gesture::Left(Steps::Once), Gesture::Right(Steps::Once));
        let said = told_with_twice(&[(100, 200)], &[(300, 400)]);
        assert_eq!(said, [(400, left), (800, right)]);
        let held = Gesture::Left(Steps::Held);
        assert_eq!(told_with_twice(&[(100, 200), (300, 1_500)], &[]), [(1_000, held)]);
        // Both, after one of them: the one was on the way to it.
        let said = told_with_twice(&[(100, 200), (300, 500)], &[(310, 500)]);
        assert_eq!(said, [(500, Gesture::Both)]);
    }

    #[test]
    fn a_pedal_that_lets_go_at_once_is_heard() {
        let mut pair = Pair::clean();
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        assert_eq!(pair.sample([false, true], at(100)), None);
        assert_eq!(pair.sample([false, false], at(100)), Some(Gesture::Right(Steps::Once)));
    }

    #[test]
    fn asked_only_when_it_says_it_tells_the_same() {
        let mut pair = Pair::clean();
        pair.hear_twice(true);
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        pair.sample([true, false], at(100));
        assert_eq!(pair.poll_at(), Some(at(800)));
        assert_eq!(pair.sample([false, false], at(200)), None);
        assert_eq!(pair.poll_at(), Some(at(600)));
        // The foot is down again: this press decides.
        pair.sample([true, false], at(500));
        assert_eq!(pair.poll_at(), Some(at(1_200)));
        assert_eq!(pair.sample([true, false], at(600)), None);
        assert_eq!(pair.sample([false, false], at(700)), Some(Gesture::Left(Steps::Twice)));
        assert_eq!(pair.poll_at(), None);
    }
}
