//! When a rest is due.

use super::rules::{REST, REST_AFTER, REST_AGAIN};
use crate::units::Seconds;

/// How long has been played since the last rest.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Rested {
    /// When playing began, and when it last ended.
    playing: Option<(Seconds, Seconds)>,
    /// How much had been played when a rest was last spoken of.
    told: Option<Seconds>,
}

impl Rested {
    /// Nothing played yet.
    pub(super) const NEW: Self = Self { playing: None, told: None };

    /// Takes an attempt that lasted so long and ended at `ended`. Gives the time played since
    /// the last rest if one is due and it has not just been said. Time that steps back counts
    /// as none.
    pub(super) fn take(&mut self, lasted: Seconds, ended: Seconds) -> Option<Seconds> {
        let began = ended.since(lasted);
        let since = match self.playing {
            Some((since, last)) if began.since(last) < REST => since,
            _ => {
                self.told = None;
                began
            }
        };
        let last = self.playing.map_or(ended, |(_, last)| last.max(ended));
        self.playing = Some((since, last));
        let played = last.since(since);
        let due = match self.told {
            None => played >= REST_AFTER,
            Some(told) => played.since(told) >= REST_AGAIN,
        };
        if !due {
            return None;
        }
        self.told = Some(played);
        Some(played)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(minutes: u32) -> Seconds {
        Seconds::from_minutes(minutes)
    }

    #[test]
    fn a_rest_is_due_after_25_minutes_and_again_after_5() {
        let mut rested = Rested::NEW;
        let told: std::vec::Vec<u32> =
            (1..=40).filter(|&at| rested.take(Seconds::new(30), minutes(at)).is_some()).collect();
        // The first attempt began half a minute before the first minute was over.
        assert_eq!(told, [26, 31, 36]);
    }

    #[test]
    fn a_pause_of_five_minutes_is_a_rest() {
        let mut rested = Rested::NEW;
        for at in 1..=24 {
            assert_eq!(rested.take(Seconds::new(30), minutes(at)), None);
        }
        for at in 30..=54 {
            assert_eq!(rested.take(Seconds::new(30), minutes(at)), None, "minute {at}");
        }
        assert_eq!(rested.take(Seconds::new(30), minutes(55)), Some(Seconds::new(1_530)));
    }

    #[test]
    fn a_clock_that_steps_back_is_no_rest() {
        let mut rested = Rested::NEW;
        rested.take(minutes(1), minutes(20));
        assert_eq!(rested.take(minutes(1), minutes(2)), None);
        assert_eq!(rested.take(minutes(1), minutes(45)), None, "a pause of 25 minutes");
    }

    extern crate std;
}
