//! A lamp, and patterns of light that say something without a colour.

use crate::units::{Instant, Offset};
use embedded_hal::digital::OutputPin;

/// Light and dark in steps of equal length, again and again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pattern {
    /// The first step is the lowest bit.
    bits: u64,
    steps: u8,
    step: Offset,
}

impl Pattern {
    /// Dark.
    pub const DARK: Self = Self { bits: 0, steps: 1, step: Offset::from_millis(1_000) };
    /// Lit.
    pub const LIT: Self = Self { bits: 1, ..Self::DARK };

    /// The lowest `steps` bits of `bits`, from the lowest upwards, each `step` long. At least one
    /// step and at most 64, each at least a millisecond.
    pub const fn new(bits: u64, steps: u8, step: Offset) -> Self {
        let steps = if steps == 0 {
            1
        } else if steps > 64 {
            64
        } else {
            steps
        };
        let step = if step.as_micros() < 1_000 { Offset::from_millis(1) } else { step };
        Self { bits, steps, step }
    }

    /// Whether it is lit so long after it began.
    pub const fn is_lit(&self, after: u64) -> bool {
        let step = after / self.step.as_micros().unsigned_abs() as u64;
        (self.bits >> (step % self.steps as u64)) & 1 == 1
    }

    /// Whether it is lit at `now` if it began at `since`.
    pub fn is_lit_at(&self, since: Instant, now: Instant) -> bool {
        self.is_lit(now.as_micros().saturating_sub(since.as_micros()))
    }

    /// Whether it never changes.
    pub const fn is_steady(&self) -> bool {
        let all = u64::MAX >> (64 - self.steps as u32);
        self.bits & all == 0 || self.bits & all == all
    }

    /// When the step under way ends, if it began at `since`; `None` if nothing ever changes.
    pub fn poll_at(&self, since: Instant, now: Instant) -> Option<Instant> {
        if self.is_steady() {
            return None;
        }
        let step = u64::from(self.step.as_micros().unsigned_abs());
        let after = now.as_micros().saturating_sub(since.as_micros());
        let begun = after / step;
        Some(Instant::from_micros(since.as_micros().saturating_add((begun + 1) * step)))
    }
}

/// A lamp on a pin that is high while it is lit. The pin is written to only on a change.
#[derive(Debug)]
pub struct Lamp<P> {
    pin: P,
    lit: Option<bool>,
}

impl<P: OutputPin> Lamp<P> {
    /// A lamp on `pin`.
    pub const fn new(pin: P) -> Self {
        Self { pin, lit: None }
    }

    /// Lights or darkens it.
    ///
    /// # Errors
    ///
    /// The pin's; the next call tries again.
    pub fn show(&mut self, lit: bool) -> Result<(), P::Error> {
        if self.lit == Some(lit) {
            return Ok(());
        }
        self.lit = None;
        self.pin.set_state(lit.into())?;
        self.lit = Some(lit);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP: Offset = Offset::from_millis(100);

    #[test]
    fn a_pattern_begins_with_its_lowest_bit_and_goes_round() {
        let pattern = Pattern::new(0b0011, 4, STEP);
        for (millis, lit) in [(0, true), (199, true), (200, false), (399, false), (400, true)] {
            assert_eq!(pattern.is_lit(millis * 1_000), lit, "{millis} ms");
        }
    }

    #[test]
    fn what_never_changes_asks_for_no_time() {
        assert_eq!(Pattern::DARK.poll_at(Instant::ZERO, Instant::ZERO), None);
        assert_eq!(Pattern::LIT.poll_at(Instant::ZERO, Instant::ZERO), None);
        assert_eq!(Pattern::new(u64::MAX, 64, STEP).poll_at(Instant::ZERO, Instant::ZERO), None);
        let blinks = Pattern::new(1, 2, STEP);
        let next = blinks.poll_at(Instant::ZERO, Instant::from_micros(150_000));
        assert_eq!(next, Some(Instant::from_micros(200_000)));
    }

    #[test]
    fn a_pattern_of_nothing_is_dark_and_does_not_divide_by_zero() {
        let pattern = Pattern::new(0, 0, Offset::ZERO);
        assert!(!pattern.is_lit(u64::MAX));
        assert!(pattern.is_steady());
    }
}
