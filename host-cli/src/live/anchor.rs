//! From the MIDI system's stamps to one monotonic clock.
//!
//! A stamp is taken nearer to the wire than we are: in the kernel with ALSA, in the driver with
//! others. So it is the better time, but on a clock of its own, whose zero is anywhere (ALSA's is
//! the moment of connecting, others count since the machine started) and which may run a
//! little faster or slower than ours, stand still, or step back.
//!
//! A message never arrives before it was stamped, so the smallest distance between arrival and
//! stamp that has been seen is the best guess of how the two clocks stand. It is found anew as
//! the clocks drift apart: the guess loosens slowly, and the next prompt message tightens it.

use evenhand_core::units::Instant;

/// How fast two clocks may drift apart, in parts of a million. Quartz clocks keep within 100 of
/// each other; the double is our default.
const DRIFT_PPM: i64 = 200;

/// A message that seems to have waited longer than this has not: the clock was set, or the
/// machine slept. Our default.
const LONGEST_DELAY_US: i64 = 250_000;

/// Follows one connection's stamps.
#[derive(Clone, Debug)]
pub(super) struct Anchor {
    /// How far our clock is ahead of the stamps, and the stamp at which that was so.
    ahead: Option<(i64, i64)>,
    latest: i64,
}

impl Anchor {
    /// For a connection that is made now; no time before it comes out.
    pub(super) fn new(now: Instant) -> Self {
        Self { ahead: None, latest: micros(now.as_micros()) }
    }

    /// When a message came, by our clock: never after it arrived here, and never before an
    /// earlier message.
    pub(super) fn place(&mut self, stamp: u64, arrival: Instant) -> Instant {
        let (stamp, arrival) = (micros(stamp), micros(arrival.as_micros()));
        let seen = arrival - stamp;
        let ahead = match self.ahead {
            None => seen,
            Some((ahead, then)) => {
                let passed = (stamp - then).clamp(0, i64::MAX / 1_000);
                let loosened = ahead + passed / 1_000 * DRIFT_PPM / 1_000;
                if seen - loosened > LONGEST_DELAY_US { seen } else { seen.min(loosened) }
            }
        };
        // Too short a time loosens nothing; it counts from where it last did.
        if self.ahead.is_none_or(|(before, _)| before != ahead) {
            self.ahead = Some((ahead, stamp));
        }
        self.latest = (stamp + ahead).min(arrival).max(self.latest);
        Instant::from_micros(self.latest.unsigned_abs())
    }
}

/// Half of what an `i64` holds: sums and differences of two stay within it. In microseconds that
/// is 146,000 years.
fn micros(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX).min(i64::MAX / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(anchor: &mut Anchor, stamp: u64, arrival: u64) -> u64 {
        anchor.place(stamp, Instant::from_micros(arrival)).as_micros()
    }

    #[test]
    fn a_delay_on_the_way_changes_no_time() {
        let mut anchor = Anchor::new(Instant::ZERO);
        assert_eq!(place(&mut anchor, 0, 5_000_000), 5_000_000);
        assert_eq!(place(&mut anchor, 100_000, 5_130_000), 5_100_020);
        assert_eq!(place(&mut anchor, 200_000, 5_200_050), 5_200_040);
    }

    #[test]
    fn a_late_first_message_is_corrected_by_a_prompt_one() {
        let mut anchor = Anchor::new(Instant::ZERO);
        assert_eq!(place(&mut anchor, 0, 20_000), 20_000);
        assert_eq!(place(&mut anchor, 100_000, 100_300), 100_300);
        assert_eq!(place(&mut anchor, 200_000, 215_000), 200_320);
    }

    #[test]
    fn time_never_steps_back_whatever_the_stamps_do() {
        let mut anchor = Anchor::new(Instant::from_micros(1_000));
        assert!(place(&mut anchor, 50_000, 900) >= 1_000);
        let mut before = 1_000;
        // Back by 7 ms, as ALSA does; back to nothing; as far as it goes.
        let steps = [60_000, 53_000, 61_000, 0, 0, u64::MAX, 1, 62_000, u64::MAX, u64::MAX];
        for (step, stamp) in (1..).zip(steps) {
            let arrival = step * 10_000;
            let at = place(&mut anchor, stamp, arrival);
            assert!((before..=arrival).contains(&at), "{stamp}: {at} after {before}");
            before = at;
        }
    }

    #[test]
    fn clocks_that_drift_apart_stay_together() {
        // An hour with a note every 400 ms, stamped by a clock that is 100 ppm slow, or fast.
        for ppm in [-100_i64, 100] {
            let mut anchor = Anchor::new(Instant::ZERO);
            for note in 0..9_000_i64 {
                let true_time = note * 400_000;
                let stamp = true_time + true_time / 1_000_000 * ppm;
                // Every third one arrives 8 ms late.
                let arrival = true_time + 300 + if note % 3 == 1 { 8_000 } else { 0 };
                let at = place(&mut anchor, stamp as u64, arrival as u64) as i64;
                assert!((at - true_time - 300).abs() < 1_000, "{ppm}: {at} for {true_time}");
            }
        }
    }

    #[test]
    fn after_the_machine_slept_times_are_right_again() {
        let mut anchor = Anchor::new(Instant::ZERO);
        assert_eq!(place(&mut anchor, 1_000, 1_000), 1_000);
        // The stamps stood still for an hour, our clock did not.
        assert_eq!(place(&mut anchor, 2_000, 3_600_000_000), 3_600_000_000);
    }
}
