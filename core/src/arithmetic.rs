//! Arithmetic with wide numbers, for processors with little flash: the library's root takes a kilobyte
//! of it, its division of 128 bits another, and each of its products that are held another fifty bytes.

/// The square root, rounded down, one bit after the other.
// Not inlined, nor are the others: they stand in many places.
#[inline(never)]
pub(crate) fn root(value: u64) -> u64 {
    let (mut rest, mut root, mut bit) = (value, 0, 1 << 62);
    while bit > value {
        bit >>= 2;
    }
    while bit != 0 {
        let square = root + bit;
        root >>= 1;
        if rest >= square {
            rest -= square;
            root += bit;
        }
        bit >>= 2;
    }
    root
}

/// The same of a short number.
pub(crate) fn short_root(value: u32) -> u32 {
    root(value.into()) as u32
}

/// The product, held at the largest number.
#[inline(never)]
pub(crate) fn product(a: u64, b: u64) -> u64 {
    a.saturating_mul(b)
}

/// The product of two numbers of 64 bits; it always fits.
#[inline(never)]
pub(crate) fn long_product(a: i64, b: i64) -> i128 {
    i128::from(a) * i128::from(b)
}

/// The quotient, rounded towards zero, one bit after the other; nothing of nothing.
#[inline(never)]
pub(crate) fn quotient(value: i128, by: i128) -> i128 {
    let (mut rest, mut part) = (value.unsigned_abs(), by.unsigned_abs());
    let (mut quotient, mut bit) = (0, i128::from(part != 0));
    while part <= rest >> 1 && bit != 0 {
        part <<= 1;
        bit <<= 1;
    }
    while bit != 0 {
        if rest >= part {
            rest -= part;
            quotient |= bit;
        }
        part >>= 1;
        bit >>= 1;
    }
    if (value < 0) == (by < 0) { quotient } else { -quotient }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers of any size, by a linear congruence.
    fn numbers() -> impl Iterator<Item = u64> {
        let mut seed = 1_u64;
        let number = move || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            seed >> (seed >> 58)
        };
        [0, 1, 2, 3, 4, u64::MAX].into_iter().chain(core::iter::repeat_with(number))
    }

    #[test]
    fn a_root_is_that_of_the_library() {
        for value in numbers().take(10_000) {
            assert_eq!(root(value), value.isqrt(), "{value}");
        }
        for near in (1..10_000_u64).map(|root| root * root) {
            assert_eq!([near - 1, near].map(root), [near - 1, near].map(u64::isqrt));
        }
    }

    #[test]
    fn a_quotient_is_that_of_the_library() {
        let of = |one: u64, other: u64| (i128::from(one) << (other & 63)) - i128::from(other);
        let (above, below) = (numbers().skip(2), numbers().skip(3));
        for (above, below) in above.zip(below).take(10_000) {
            let (value, by) = (of(above, below), of(below, above) >> (above & 127));
            for (value, by) in [(value, by), (-value, by), (value, -by), (-value, -by)] {
                assert_eq!(quotient(value, by), value.checked_div(by).unwrap_or(0), "{value} {by}");
            }
        }
        assert_eq!(
            (quotient(7, 0), quotient(0, 0), quotient(0, 7), quotient(-7, 2)),
            (0, 0, 0, -3)
        );
    }
}
