//! Moments and lengths of a score, exact: fractions of a quarter note.

use evenhand_core::units::Ticks;
use std::cmp::Ordering;

/// A moment or a length in quarter notes, in lowest terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Quarters {
    over: i64,
    under: i64,
}

impl Quarters {
    /// Nothing, or the beginning.
    pub const ZERO: Self = Self { over: 0, under: 1 };

    /// The largest parts of a fraction. Our defaults: more than a million hours of music, and finer than any
    /// editor's grid; what is within them is multiplied without leaving 128 bits.
    const MOST_OVER: i128 = 1 << 46;
    const MOST_UNDER: i128 = 1 << 40;

    /// `over / under` of a quarter; `None` where `under` is 0 or the fraction cannot be kept.
    pub fn new(over: i64, under: i64) -> Option<Self> {
        Self::of(i128::from(over), i128::from(under))
    }

    fn of(over: i128, under: i128) -> Option<Self> {
        if under == 0 {
            return None;
        }
        let (mut a, mut b) = (over.unsigned_abs(), under.unsigned_abs());
        while b != 0 {
            (a, b) = (b, a % b);
        }
        let divisor = i128::try_from(a.max(1)).ok()? * under.signum();
        let (over, under) = (over / divisor, under / divisor);
        let fits = over.abs() <= Self::MOST_OVER && under <= Self::MOST_UNDER;
        fits.then_some(Self { over: i64::try_from(over).ok()?, under: i64::try_from(under).ok()? })
    }

    /// The fraction's parts.
    pub const fn parts(self) -> (i64, i64) {
        (self.over, self.under)
    }

    /// Whether it lies after the beginning, or lasts at all.
    pub const fn is_positive(self) -> bool {
        self.over > 0
    }

    /// The sum; `None` where it cannot be kept.
    pub fn plus(self, other: Self) -> Option<Self> {
        let (a, b) = (self, other);
        Self::of(
            i128::from(a.over) * i128::from(b.under) + i128::from(b.over) * i128::from(a.under),
            i128::from(a.under) * i128::from(b.under),
        )
    }

    /// What is left; `None` where it cannot be kept.
    pub fn minus(self, other: Self) -> Option<Self> {
        self.plus(Self { over: -other.over, under: other.under })
    }

    /// So many times as long; `None` where it cannot be kept.
    pub fn times(self, over: i64, under: i64) -> Option<Self> {
        Self::of(
            i128::from(self.over) * i128::from(over),
            i128::from(self.under) * i128::from(under),
        )
    }

    /// In ticks, where it is a whole number of them.
    pub fn ticks(self) -> Option<Ticks> {
        let all = i128::from(self.over) * i128::from(Ticks::PER_QUARTER);
        let under = i128::from(self.under);
        (all % under == 0).then(|| u32::try_from(all / under).ok().map(Ticks::new)).flatten()
    }

    /// The nearest ticks; those of the beginning for what lies before it.
    pub fn nearest_ticks(self) -> Ticks {
        let all = i128::from(self.over) * i128::from(Ticks::PER_QUARTER);
        let under = i128::from(self.under);
        Ticks::new(u32::try_from((all + under / 2).div_euclid(under).max(0)).unwrap_or(u32::MAX))
    }
}

impl PartialOrd for Quarters {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Quarters {
    fn cmp(&self, other: &Self) -> Ordering {
        (i128::from(self.over) * i128::from(other.under))
            .cmp(&(i128::from(other.over) * i128::from(self.under)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarters(over: i64, under: i64) -> Quarters {
        Quarters::new(over, under).unwrap()
    }

    #[test]
    fn fractions_are_exact_and_in_lowest_terms() {
        let third = quarters(1, 3);
        assert_eq!(third.plus(third).and_then(|two| two.plus(third)), Some(quarters(1, 1)));
        assert_eq!(quarters(4, -8).parts(), (-1, 2));
        assert_eq!(quarters(1, 2).minus(quarters(1, 3)), Some(quarters(1, 6)));
        assert!(quarters(1, 3) < quarters(34, 100));
        assert_eq!(quarters(1, 3).ticks().map(Ticks::get), Some(3_360));
        assert_eq!((quarters(1, 11).ticks(), quarters(1, 11).nearest_ticks().get()), (None, 916));
    }

    #[test]
    fn what_cannot_be_kept_is_none() {
        assert_eq!(Quarters::new(1, 0), None);
        assert_eq!(Quarters::new(i64::MAX, 1), None);
        assert_eq!(quarters(1, 1 << 40).plus(quarters(1, (1 << 40) - 1)), None);
        assert_eq!(quarters(1 << 46, 1).times(2, 1), None);
    }
}
