//! One foot switch: bounces are passed over, short presses told from long ones.

use crate::units::{Instant, Offset};

/// A change of the contact counts when it has lasted this long. Our default: switches were
/// measured to bounce for 1.6 ms on average and 6.2 ms at worst, one odd one apart (Ganssle,
/// "A Guide to Debouncing", 2004).
const SETTLES: Offset = Offset::from_millis(15);

/// A press is long when it has lasted this long; it is told then, not when the foot leaves.
/// Our default: over twice as long as a quick step.
const LONG: Offset = Offset::from_millis(700);

/// How a switch was pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Press {
    /// Stepped on and left. Told when the foot has left.
    Short,
    /// Held. Told while it is.
    Long,
}

/// A switch without its pin: takes what the contact says, and tells presses.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Switch {
    /// Closed, bounces passed over.
    down: bool,
    /// The contact has said otherwise since.
    otherwise: Option<Instant>,
    /// When the foot came down.
    since: Instant,
    /// This press has been told, or is part of something else.
    told: bool,
    /// Something else has passed over its bounces.
    is_clean: bool,
}

impl Switch {
    /// A switch nobody stands on.
    pub const fn new() -> Self {
        Self { down: false, otherwise: None, since: Instant::ZERO, told: false, is_clean: false }
    }

    /// The same whose bounces something else has passed over, as a MIDI pedal does: it may be down for
    /// less than a bounce lasts.
    pub const fn clean() -> Self {
        Self { is_clean: true, ..Self::new() }
    }

    /// Takes what the contact says at `now`. Ask at [`poll_at`](Self::poll_at), too, or every few
    /// milliseconds.
    pub fn sample(&mut self, closed: bool, now: Instant) -> Option<Press> {
        if closed == self.down {
            self.otherwise = None;
        } else {
            let since = *self.otherwise.get_or_insert(now);
            if self.is_clean || now.since(since) >= SETTLES {
                self.otherwise = None;
                self.down = closed;
                if closed {
                    self.since = since;
                    self.told = false;
                } else if !self.told {
                    return Some(Press::Short);
                }
            }
        }
        if self.down && !self.told && self.otherwise.is_none() && now.since(self.since) >= LONG {
            self.told = true;
            return Some(Press::Long);
        }
        None
    }

    /// Whether a foot is on it.
    pub const fn is_down(&self) -> bool {
        self.down
    }

    /// Since when a foot has been on it.
    pub fn down_since(&self) -> Option<Instant> {
        self.down.then_some(self.since)
    }

    /// The press under way is part of something else, and is not told.
    pub const fn pass_over(&mut self) {
        self.told = true;
    }

    /// When to ask again if the contact does not change until then.
    pub fn poll_at(&self) -> Option<Instant> {
        match self.otherwise {
            Some(since) => Some(since.plus(SETTLES)),
            None if self.down && !self.told => Some(self.since.plus(LONG)),
            None => None,
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::vec::Vec;

    fn at(millis: u64) -> Instant {
        Instant::from_micros(millis * 1_000)
    }

    /// Asks every millisecond; `closed` says what the contact says.
    fn presses(until: u64, closed: impl Fn(u64) -> bool) -> Vec<(u64, Press)> {
        let mut switch = Switch::new();
        (0..until)
            .filter_map(|now| switch.sample(closed(now), at(now)).map(|press| (now, press)))
            .collect()
    }

    #[test]
    fn a_step_is_short_and_told_when_the_foot_leaves() {
        let told = presses(1_000, |now| (100..300).contains(&now));
        assert_eq!(told, [(315, Press::Short)]);
    }

    #[test]
    fn a_hold_is_long_told_once_and_nothing_follows() {
        let told = presses(3_000, |now| (100..2_000).contains(&now));
        assert_eq!(told, [(800, Press::Long)]);
    }

    #[test]
    fn bounces_make_no_second_press() {
        // Both edges chatter for 10 ms.
        let chatters =
            |now: u64, edge: u64| (edge..edge + 10).contains(&now) && now.is_multiple_of(3);
        let told = presses(1_000, |now| {
            (100..300).contains(&now) != (chatters(now, 100) || chatters(now, 300))
        });
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0].1, Press::Short);
    }

    #[test]
    fn a_spike_is_no_press() {
        assert_eq!(presses(500, |now| (100..110).contains(&now)), []);
    }

    #[test]
    fn asked_only_when_it_says_it_tells_the_same() {
        let mut switch = Switch::new();
        assert_eq!(switch.poll_at(), None);
        assert_eq!(switch.sample(true, at(100)), None);
        let settles = switch.poll_at().unwrap();
        assert_eq!(switch.sample(true, settles), None);
        let long = switch.poll_at().unwrap();
        assert_eq!(long, at(800));
        assert_eq!(switch.sample(true, long), Some(Press::Long));
        assert_eq!(switch.poll_at(), None);
    }
}
