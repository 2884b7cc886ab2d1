//! Two switches that do not say when they are let go: keys, program changes, and pedals that say so at
//! once. What would be held is pressed three times, and both twice where both would be held.

use evenhand_core::feet::{Gesture, Steps};
use evenhand_core::units::{Instant, Offset};

/// Another press within this time belongs to the ones before. Our default: a foot needs about a quarter of a
/// second.
const NEXT: Offset = Offset::from_millis(400);

/// Both within this time were meant together. Our default, as for switches that can be held.
const AT_ONCE: Offset = Offset::from_millis(150);

/// Presses that have come, and belong together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Taps {
    /// How often each was pressed, left and right.
    times: [u8; 2],
    last: Option<(usize, Instant)>,
}

impl Taps {
    pub(super) const NONE: Self = Self { times: [0; 2], last: None };

    /// A press of the left switch (0) or the right one (1); what was meant by the ones before, where this
    /// one does not belong to them.
    pub(super) fn press(&mut self, side: usize, at: Instant) -> Option<Gesture> {
        let belongs = self.last.is_some_and(|(before, last)| {
            let within = if before == side { NEXT } else { AT_ONCE };
            at.since(last) <= within || (self.is_both() && at.since(last) <= NEXT)
        });
        let before = if belongs { None } else { self.meant() };
        if !belongs {
            self.times = [0; 2];
        }
        if let Some(times) = self.times.get_mut(side) {
            *times = times.saturating_add(1);
        }
        self.last = Some((side, at));
        before
    }

    /// What was meant, once nothing more belongs to it.
    pub(super) fn poll(&mut self, now: Instant) -> Option<Gesture> {
        if self.poll_at().is_none_or(|until| now < until) {
            return None;
        }
        let meant = self.meant();
        *self = Self::NONE;
        meant
    }

    /// When that is.
    pub(super) fn poll_at(&self) -> Option<Instant> {
        self.last.map(|(_, last)| last.plus(NEXT).plus(Offset::from_micros(1)))
    }

    const fn is_both(&self) -> bool {
        self.times[0] > 0 && self.times[1] > 0
    }

    const fn meant(&self) -> Option<Gesture> {
        let [left, right] = self.times;
        Some(match (left, right) {
            (0, 0) => return None,
            (times, 0) => Gesture::Left(steps(times)),
            (0, times) => Gesture::Right(steps(times)),
            (1, 1) => Gesture::Both,
            _ => Gesture::BothHeld,
        })
    }
}

const fn steps(times: u8) -> Steps {
    match times {
        1 => Steps::Once,
        2 => Steps::Twice,
        _ => Steps::Held,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEFT: usize = 0;
    const RIGHT: usize = 1;

    /// What is told of presses at these milliseconds.
    fn told(presses: &[(usize, u64)]) -> Vec<Gesture> {
        let mut taps = Taps::NONE;
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        let mut said = Vec::new();
        for now in 0..5_000 {
            said.extend(taps.poll(at(now)));
            for (side, _) in presses.iter().filter(|(_, when)| *when == now) {
                said.extend(taps.press(*side, at(now)));
            }
        }
        said
    }

    #[test]
    fn one_two_and_three_of_one() {
        assert_eq!(told(&[(LEFT, 100)]), [Gesture::Left(Steps::Once)]);
        assert_eq!(told(&[(RIGHT, 100), (RIGHT, 500)]), [Gesture::Right(Steps::Twice)]);
        let three = [(LEFT, 100), (LEFT, 400), (LEFT, 700)];
        assert_eq!(told(&three), [Gesture::Left(Steps::Held)]);
        let apart = [(LEFT, 100), (LEFT, 600)];
        assert_eq!(told(&apart), [Gesture::Left(Steps::Once); 2]);
    }

    #[test]
    fn both_once_and_twice() {
        assert_eq!(told(&[(LEFT, 100), (RIGHT, 150)]), [Gesture::Both]);
        let twice = [(LEFT, 100), (RIGHT, 150), (RIGHT, 400), (LEFT, 450)];
        assert_eq!(told(&twice), [Gesture::BothHeld]);
        // One after the other is each by itself.
        let (left, right) = (Gesture::Left(Steps::Once), Gesture::Right(Steps::Once));
        assert_eq!(told(&[(LEFT, 100), (RIGHT, 300)]), [left, right]);
    }
}
