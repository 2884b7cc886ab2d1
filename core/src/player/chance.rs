//! Seeded chance, the same on every machine.

/// A generator of pseudo-random numbers: SplitMix64 (Steele, Lea & Flood 2014).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// All that follows depends on `seed` and on nothing else.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub const fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `limit`; 0 if that is 0.
    pub const fn below(&mut self, limit: u32) -> u32 {
        (((self.bits() >> 32) * limit as u64) >> 32) as u32
    }

    /// A normally distributed number of this standard deviation around 0: the sum of twelve
    /// uniform numbers, so never beyond six standard deviations.
    pub const fn normal(&mut self, deviation: i32) -> i32 {
        let mut sum = 0_i64;
        let mut count = 0;
        while count < 3 {
            let mut bits = self.bits();
            let mut part = 0;
            while part < 4 {
                sum += (bits & 0xffff) as i64;
                bits >>= 16;
                part += 1;
            }
            count += 1;
        }
        // Twelve uniform numbers of 0 to 65,535 have the mean 393,210 and the standard
        // deviation 65,536.
        ((sum - 393_210) * deviation as i64 / 65_536) as i32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_the_deviation_that_is_asked_for() {
        let mut chance = Chance::new(1);
        let (mut sum, mut squares) = (0_i64, 0_i64);
        for _ in 0..20_000 {
            let value = i64::from(chance.normal(10_000));
            sum += value;
            squares += value * value;
        }
        assert!((sum / 20_000).abs() < 300, "mean {}", sum / 20_000);
        let deviation = (squares / 20_000).isqrt();
        assert!((9_800..10_200).contains(&deviation), "{deviation}");
    }

    #[test]
    fn numbers_stay_below_their_limit() {
        let mut chance = Chance::new(7);
        assert!((0..1_000).all(|_| chance.below(6) < 6));
        assert_eq!(chance.below(0), 0);
    }
}
