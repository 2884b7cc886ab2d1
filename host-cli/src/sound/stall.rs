//! Whether an output still takes samples. Not every system says that a device was pulled or a
//! sound service has ended: some only never ask for samples again.

use std::time::{Duration, Instant};

/// For so long nothing was taken, then the output has gone. Our default: blocks are some
/// milliseconds, and with a cable that came out nobody waits longer for a word.
const STILL: Duration = Duration::from_millis(1_000);

/// What one look can add: when the machine slept, or this program did, the output did, too, and
/// is given time to go on. Our default.
const MOST_A_LOOK: Duration = Duration::from_millis(250);

/// Follows how often an output took samples.
#[derive(Debug)]
pub(super) struct Stall {
    taken: u64,
    looked: Instant,
    still: Duration,
}

impl Stall {
    pub(super) const fn new(taken: u64, now: Instant) -> Self {
        Self { taken, looked: now, still: Duration::ZERO }
    }

    /// Whether it takes nothing any more; `taken` is how often it has taken samples so far.
    pub(super) fn is_still(&mut self, taken: u64, now: Instant) -> bool {
        let passed = now.saturating_duration_since(self.looked).min(MOST_A_LOOK);
        self.still = if taken == self.taken { self.still + passed } else { Duration::ZERO };
        (self.taken, self.looked) = (taken, now);
        self.still >= STILL
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_lasting_stillness_counts() {
        let begin = Instant::now();
        let at = |millis: u64| begin + Duration::from_millis(millis);
        let mut stall = Stall::new(4, begin);
        assert!((1..5).all(|look| !stall.is_still(4 + look, at(200 * look))));
        // Four looks without a block are 0.8 s; the fifth is enough.
        assert!((5..9).all(|look| !stall.is_still(8, at(200 * look))));
        assert!(stall.is_still(8, at(1_800)));
        assert!(!stall.is_still(9, at(2_000)));
    }

    #[test]
    fn a_program_that_slept_looks_again_before_it_says_so() {
        let begin = Instant::now();
        let mut stall = Stall::new(4, begin);
        assert!(!stall.is_still(4, begin + Duration::from_secs(3_600)));
        assert!(!stall.is_still(5, begin + Duration::from_secs(3_601)));
    }
}
