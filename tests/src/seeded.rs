//! Random numbers from a seed, the same on every machine and in every version.

/// A generator that gives the same numbers for the same seed.
///
/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014),
/// written out here so that no update of a library changes what the tests try.
#[derive(Clone, Debug)]
pub struct Seeded(u64);

impl Seeded {
    /// A generator for this seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from `low` to `high`, both included.
    ///
    /// # Panics
    /// If `low` is above `high`.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        assert!(low <= high, "no number lies between {low} and {high}");
        let width = (high - low) as u64 + 1;
        // The bias of the remainder is below 2⁻⁴⁰ for the small ranges used here.
        low + (self.bits() % width) as i64
    }

    /// An index into something of this length.
    ///
    /// # Panics
    /// If the length is 0.
    pub fn index(&mut self, length: usize) -> usize {
        self.between(0, length as i64 - 1) as usize
    }

    /// A byte, all 256 equally likely.
    pub fn byte(&mut self) -> u8 {
        (self.bits() >> 56) as u8
    }

    /// A number from 0 up to, but not including, 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// A normally distributed number with mean 0 and standard deviation 1 (Box and Muller, 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (2.0 * std::f64::consts::PI * self.unit()).cos()
    }

    /// Puts the items in a random order, all orders equally likely.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.index(last + 1));
        }
    }

    /// One of the items, chosen with these weights.
    ///
    /// # Panics
    /// If there are no items, or their weights are all 0.
    pub fn weighted<T: Copy>(&mut self, items: &[(T, u32)]) -> T {
        let total: u32 = items.iter().map(|item| item.1).sum();
        let mut left = self.between(0, i64::from(total) - 1) as u32;
        for &(item, weight) in items {
            if left < weight {
                return item;
            }
            left -= weight;
        }
        unreachable!("the draw lies below the sum of the weights")
    }
}

#[cfg(test)]
mod tests {
    use super::Seeded;

    /// The first outputs for seed 1234567 that the public-domain C code of SplitMix64 gives
    /// (S. Vigna, splitmix64.c).
    #[test]
    fn gives_the_published_sequence() {
        let mut seeded = Seeded::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| seeded.bits()).collect();
        assert_eq!(
            first,
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
        );
    }

    #[test]
    fn normal_numbers_have_mean_0_and_deviation_1() {
        let mut seeded = Seeded::new(1);
        let drawn: Vec<f64> = (0..20_000).map(|_| seeded.normal()).collect();
        let mean = drawn.iter().sum::<f64>() / 20_000.0;
        let variance = drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 0.03, "mean {mean}");
        assert!((variance - 1.0).abs() < 0.05, "variance {variance}");
    }
}
