//! Logarithms to base 2 from tables: ratios of times become differences, so that nothing
//! has to be divided in the innermost loop.

/// 256 · log2(value), rounded; 0 for a value of 0. The error is at most 1.
pub(crate) fn log2(value: u32) -> i32 {
    if value < 2 {
        return 0;
    }
    // The leading one is shifted to the top by hand: the smallest processors have no instruction
    // for that, and call a function that takes longer than all the rest here.
    let (mut mantissa, mut exponent) = (value, 31);
    if mantissa < 1 << 16 {
        (mantissa, exponent) = (mantissa << 16, exponent - 16);
    }
    if mantissa < 1 << 24 {
        (mantissa, exponent) = (mantissa << 8, exponent - 8);
    }
    if mantissa < 1 << 28 {
        (mantissa, exponent) = (mantissa << 4, exponent - 4);
    }
    let zeros = ZEROS.get((mantissa >> 28) as usize).map_or(0, |zeros| u32::from(*zeros));
    (mantissa, exponent) = (mantissa << zeros, exponent - zeros);
    // The 12 bits after the leading one: six for the table, six between its entries.
    let index = ((mantissa >> 25) & 63) as usize;
    let part = ((mantissa >> 19) & 63) as i32;
    let low = i32::from(LOG.get(index).copied().unwrap_or(0));
    let high = i32::from(LOG.get(index + 1).copied().unwrap_or(256));
    (exponent as i32 * 256) + low + (((high - low) * part + 32) >> 6)
}

/// `value` · 2^(`octaves` / 256), held at the largest value. Relative error under 0.1 %,
/// and the rounding to a whole number.
pub(super) fn scaled(value: u32, octaves: i32) -> u32 {
    let whole = octaves >> 8;
    let part = (octaves & 0xff) as u32;
    let index = (part >> 2) as usize;
    let low = EXP.get(index).copied().unwrap_or(65_536);
    let high = EXP.get(index + 1).copied().unwrap_or(131_072);
    // Between 65,536 and 131,071, of which the first is left out here.
    let beyond_one = low + (((high - low) * (part & 3)) >> 2) - 65_536;
    // In halves, because the smallest processors multiply only 32 bits by 32 to 32.
    let lower = (value & 0xffff) * beyond_one;
    let upper = (value >> 16) * beyond_one;
    let Some(product) = value.checked_add(upper).and_then(|sum| sum.checked_add(lower >> 16))
    else {
        // Beyond 32 bits, and so rare that it may take its time.
        return scaled_beyond(value, beyond_one, whole);
    };
    let shift = whole.unsigned_abs();
    if whole <= 0 {
        product.checked_shr(shift).unwrap_or(0)
    } else if shift <= product.leading_zeros().min(16) {
        // What had been cut off below comes back in.
        (product << shift) | ((lower & 0xffff) >> (16 - shift))
    } else {
        scaled_beyond(value, beyond_one, whole)
    }
}

/// The same for any value.
#[cold]
fn scaled_beyond(value: u32, beyond_one: u32, whole: i32) -> u32 {
    let product = u64::from(value) * u64::from(65_536 + beyond_one);
    let shift = 16_i32.saturating_sub(whole);
    let result = if shift >= 64 {
        0
    } else if shift >= 0 {
        product >> shift
    } else {
        product.checked_shl(shift.unsigned_abs()).unwrap_or(u64::MAX)
    };
    u32::try_from(result).unwrap_or(u32::MAX)
}

/// How many zeros four bits begin with.
const ZEROS: [u8; 16] = [4, 3, 2, 2, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0];

/// 256 · log2(1 + i / 64), computed.
#[rustfmt::skip]
const LOG: [u16; 65] = [
    0, 6, 11, 17, 22, 28, 33, 38, 44, 49,
    54, 59, 63, 68, 73, 78, 82, 87, 92, 96,
    100, 105, 109, 113, 118, 122, 126, 130, 134, 138,
    142, 146, 150, 154, 157, 161, 165, 169, 172, 176,
    179, 183, 186, 190, 193, 197, 200, 203, 207, 210,
    213, 216, 220, 223, 226, 229, 232, 235, 238, 241,
    244, 247, 250, 253, 256,
];

/// 65,536 · 2^(i / 64), computed.
#[rustfmt::skip]
const EXP: [u32; 65] = [
    65536, 66250, 66971, 67700, 68438, 69183, 69936, 70698, 71468, 72246,
    73032, 73828, 74632, 75444, 76266, 77096, 77936, 78785, 79642, 80510,
    81386, 82273, 83169, 84074, 84990, 85915, 86851, 87796, 88752, 89719,
    90696, 91684, 92682, 93691, 94711, 95743, 96785, 97839, 98905, 99982,
    101070, 102171, 103283, 104408, 105545, 106694, 107856, 109031, 110218, 111418,
    112631, 113858, 115098, 116351, 117618, 118899, 120194, 121502, 122825, 124163,
    125515, 126882, 128263, 129660, 131072,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn logarithms_are_right_to_a_256th_of_an_octave() {
        for value in (1..5_000).chain((5_000..50_000_000).step_by(9_973)) {
            let exact = f64::from(value).log2() * 256.0;
            assert!((f64::from(log2(value)) - exact).abs() <= 1.0, "{value}");
        }
    }

    #[test]
    fn logarithms_never_fall_and_twice_is_an_octave() {
        for value in (2..70_000).chain((70_000..2_000_000_000).step_by(777_777)) {
            assert!(log2(value) >= log2(value - 1), "{value}");
            assert_eq!(log2(2 * value), log2(value) + 256, "{value}");
            assert!(log2(2 * value + 1) >= log2(value) + 256, "{value}");
        }
    }

    #[test]
    fn halves_multiply_as_the_whole_does() {
        let values = [0, 1, 2, 3, 24, 25, 999, 65_535, 65_536, 65_537, 1 << 21, 0x8000_0001];
        for octaves in (-5_000..5_000).step_by(3).chain(-520..520).chain([i32::MIN, i32::MAX]) {
            for value in values.into_iter().chain([u32::MAX - 1, u32::MAX, 1 << 30]) {
                let factor = EXP[((octaves & 0xff) >> 2) as usize];
                let next = EXP[((octaves & 0xff) >> 2) as usize + 1];
                let beyond_one = factor + (((next - factor) * (octaves & 3) as u32) >> 2) - 65_536;
                let slow = scaled_beyond(value, beyond_one, octaves >> 8);
                assert_eq!(scaled(value, octaves), slow, "{value} {octaves}");
            }
        }
    }

    #[test]
    fn scaling_undoes_the_logarithm() {
        for octaves in (-700..700).step_by(7) {
            for value in [100, 1_000, 12_345, 1_000_000] {
                let exact = f64::from(value) * (f64::from(octaves) / 256.0).exp2();
                let error = (f64::from(scaled(value, octaves)) - exact).abs();
                assert!(error <= exact * 0.001 + 1.0, "{value} {octaves}");
            }
        }
        assert_eq!(scaled(u32::MAX, 512), u32::MAX);
        assert_eq!(scaled(u32::MAX, i32::MIN), 0);
    }
}
