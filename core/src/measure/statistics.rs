//! Robust statistics in integers.

use crate::arithmetic::{product, root, short_root};
use crate::limits::EXPECTED_NOTES;
use crate::sort::sort;
use heapless::Vec;

/// The median; of an even number the mean of the middle two, rounded towards negative
/// infinity. `None` of nothing. Sorts its argument.
pub fn median(values: &mut [i32]) -> Option<i32> {
    sort(values);
    let upper = i64::from(*values.get(values.len() / 2)?);
    let lower = i64::from(*values.get(values.len().div_ceil(2).checked_sub(1)?)?);
    Some((lower + upper).div_euclid(2) as i32)
}

/// 1.4826 times the median distance from `centre`: the standard deviation, if the values
/// are normally distributed with a few strays among them (Hampel 1974; the factor is
/// 1 / Φ⁻¹(3/4)). Destroys its argument.
pub fn robust_deviation(values: &mut [i32], centre: i32) -> i32 {
    for value in values.iter_mut() {
        *value = value.saturating_sub(centre).saturating_abs();
    }
    let median = i64::from(median(values).unwrap_or(0));
    i32::try_from(median * 14_826 / 10_000).unwrap_or(i32::MAX)
}

/// The [`median`] of numbers that stay as they are: one for each note of a chunk, at most.
// Not inlined: the copy leaves the stack when it is done with.
#[inline(never)]
pub fn median_of(values: &[i32]) -> Option<i32> {
    let mut copy: Vec<i32, EXPECTED_NOTES> = values.iter().copied().collect();
    median(&mut copy)
}

/// The [`robust_deviation`] from 0 of numbers that stay as they are, see [`median_of`].
#[inline(never)]
pub fn robust_deviation_of(values: &[i32]) -> i32 {
    let mut copy: Vec<i32, EXPECTED_NOTES> = values.iter().copied().collect();
    robust_deviation(&mut copy, 0)
}

/// The square root of the mean of squares, over `degrees` of freedom; `None` without any.
pub fn deviation(sum_of_squares: u64, degrees: u32) -> Option<i32> {
    if degrees == 0 {
        return None;
    }
    let mean = (sum_of_squares + u64::from(degrees) / 2) / u64::from(degrees);
    Some(i32::try_from(root(mean)).unwrap_or(i32::MAX))
}

/// How a measured standard deviation compares with a limit for the true one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compared {
    /// So far below the limit, for so few notes, that a true value of twice the limit would give
    /// as little in at most one attempt of a hundred.
    Within,
    /// Between: a true value at the limit would give as much, and one of twice the limit as
    /// little, too often to call it.
    TooCloseToCall,
    /// So far above it that a true value at the limit would give as much in at most one attempt of
    /// ten.
    Over,
}

/// Compares a measured standard deviation with a limit. A value equal to the limit is
/// within it, if there are enough degrees of freedom to trust it: ten.
pub fn compare_deviation(measured: i32, degrees: u32, limit: i32) -> Compared {
    let squared = |value: i32| u64::from(value.unsigned_abs()).pow(2);
    let measured = product(squared(measured), 1_000);
    if measured <= product(squared(limit), surely_within(degrees).into()) {
        return Compared::Within;
    }
    // measured² · degrees > limit² · χ²: with 90 % confidence the true value is over.
    let needed = product(squared(limit), chi_square_90(degrees).into());
    if measured > needed { Compared::Over } else { Compared::TooCloseToCall }
}

/// What share of the limit's square a measured variance may be to be within it, in per mille:
/// four times the 0.01 quantile of χ² over its degrees of freedom, at most the whole. Computed; the
/// tests compare it with scipy's `chi2.ppf`.
pub fn surely_within(degrees: u32) -> u32 {
    let index = degrees.saturating_sub(1) as usize;
    SURELY_WITHIN.get(index).copied().map_or(1_000, u32::from)
}

/// See [`surely_within`]; for 1 to 9 degrees of freedom.
pub const SURELY_WITHIN: [u16; 9] = [1, 40, 153, 297, 443, 581, 708, 823, 928];

/// How many more attempts like this one, taken together with it, would settle a standard
/// deviation that is too close to call, if it stays as it is: the more degrees of freedom, the
/// nearer to the limit can be told. At most [`MOST_ATTEMPTS`] together.
pub fn more_attempts(measured: i32, degrees: u32, limit: i32) -> u8 {
    let settles = |together: &u8| {
        let degrees = degrees.saturating_mul(u32::from(*together));
        compare_deviation(measured, degrees, limit) != Compared::TooCloseToCall
    };
    (2..=MOST_ATTEMPTS).find(settles).unwrap_or(MOST_ATTEMPTS) - 1
}

/// The most attempts that are taken together: what was played before has been practised away.
/// Our default.
pub const MOST_ATTEMPTS: u8 = 6;

/// The 0.90 quantile of χ², over the degrees of freedom, in per mille. Beyond the table by the
/// first terms of its expansion (Cornish & Fisher 1938): 1 + 1.2816 · √(2 / n) + 0.428 / n.
pub fn chi_square_90(degrees: u32) -> u32 {
    let index = degrees.saturating_sub(1) as usize;
    CHI_SQUARE_90.get(index).copied().map_or_else(
        || 1_000 + short_root(1_812 * 1_812 / degrees.max(1)) + 428 / degrees.max(1),
        u32::from,
    )
}

/// The 0.99 quantile of χ², over the degrees of freedom, in per mille, right to one in a hundred: the
/// cube of what is nearly normal (Wilson & Hilferty 1931), (1 − 2 / 9n + 2.326 · √(2 / 9n))³.
pub fn chi_square_99(degrees: u32) -> u32 {
    let degrees = degrees.max(1);
    let root = 1_000 - 222 / degrees + 2_326 * short_root(222_222 / degrees) / 1_000;
    root * root / 1_000 * root / 1_000
}

/// One-sided quantiles of Student's t, in per mille: how many standard errors an estimate may
/// be off by chance in one case of ten, if the error itself is known from few numbers only.
pub fn student_90(degrees: u32) -> u32 {
    student(&STUDENT_90, degrees, 1_282)
}

/// The same for one case of a hundred.
pub fn student_99(degrees: u32) -> u32 {
    student(&STUDENT_99, degrees, 2_326)
}

/// Beyond the table by its last value, drawn towards the normal distribution's with 1 / n.
fn student(table: &[u16; 30], degrees: u32, normal: u32) -> u32 {
    let index = degrees.max(1) as usize - 1;
    let last = table.last().copied().map_or(normal, u32::from);
    let beyond = || normal + last.saturating_sub(normal) * table.len() as u32 / degrees.max(1);
    table.get(index).copied().map_or_else(beyond, u32::from)
}

/// How far apart the first and the last of `values` normal values with a standard deviation of 1
/// lie at most, in hundredths, in the widest of `groups` such groups, in nine cases of ten: the
/// 0.9^(1/groups) quantile of the range. Groups are counted by doublings, each up to the next;
/// more than 128 are 128, more than five values five.
pub fn range_90(values: usize, groups: u32) -> u32 {
    let row = RANGE_90.get(values.clamp(2, 5) - 2);
    let doublings = groups.clamp(1, 128).next_power_of_two().trailing_zeros() as usize;
    row.and_then(|row| row.get(doublings)).copied().map_or(0, u32::from)
}

/// The quantiles of the range for 2 to 5 values and 1, 2, 4 to 128 groups. Computed; the tests compare
/// them with scipy's `studentized_range.ppf`.
#[rustfmt::skip]
const RANGE_90: [[u16; 8]; 4] = [
    [233, 276, 315, 351, 384, 416, 445, 473],
    [290, 330, 366, 400, 431, 460, 487, 514],
    [324, 362, 397, 428, 458, 486, 513, 538],
    [348, 384, 418, 449, 478, 505, 531, 555],
];

/// The 0.90 quantile of Student's t with 1 to 30 degrees of freedom, in per mille. Computed;
/// the tests compare it with scipy's `t.ppf`.
#[rustfmt::skip]
const STUDENT_90: [u16; 30] = [
    3078, 1886, 1638, 1533, 1476, 1440, 1415, 1397, 1383, 1372,
    1363, 1356, 1350, 1345, 1341, 1337, 1333, 1330, 1328, 1325,
    1323, 1321, 1319, 1318, 1316, 1315, 1314, 1313, 1311, 1310,
];

/// The 0.99 quantile, likewise.
#[rustfmt::skip]
const STUDENT_99: [u16; 30] = [
    31821, 6965, 4541, 3747, 3365, 3143, 2998, 2896, 2821, 2764,
    2718, 2681, 2650, 2624, 2602, 2583, 2567, 2552, 2539, 2528,
    2518, 2508, 2500, 2492, 2485, 2479, 2473, 2467, 2462, 2457,
];

/// The 0.90 quantile of χ² with 1 to 64 degrees of freedom, over the degrees, in per mille.
/// Computed; the tests compare it with scipy's `chi2.ppf`.
#[rustfmt::skip]
pub const CHI_SQUARE_90: [u16; 64] = [
    2706, 2303, 2084, 1945, 1847, 1774, 1717, 1670, 1632, 1599,
    1570, 1546, 1524, 1505, 1487, 1471, 1457, 1444, 1432, 1421,
    1410, 1401, 1392, 1383, 1375, 1368, 1361, 1354, 1348, 1342,
    1336, 1331, 1326, 1321, 1316, 1311, 1307, 1303, 1299, 1295,
    1291, 1288, 1284, 1281, 1278, 1275, 1272, 1269, 1266, 1263,
    1261, 1258, 1256, 1253, 1251, 1249, 1246, 1244, 1242, 1240,
    1238, 1236, 1234, 1232,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians() {
        assert_eq!(median(&mut []), None);
        assert_eq!(median(&mut [3]), Some(3));
        assert_eq!(median(&mut [9, 1, 5]), Some(5));
        assert_eq!(median(&mut [4, 1, 9, 2]), Some(3));
        assert_eq!(median(&mut [-4, -1]), Some(-3));
        assert_eq!(median(&mut [i32::MAX, i32::MAX]), Some(i32::MAX));
    }

    #[test]
    fn one_stray_does_not_widen_the_robust_deviation() {
        let mut steady = [-10, 10, -10, 10, -10, 10, 0, 5_000];
        assert_eq!(robust_deviation(&mut steady, 0), 14);
    }

    #[test]
    fn near_the_limit_few_notes_are_too_close_to_call() {
        assert_eq!(compare_deviation(12, 7, 15), Compared::Within);
        assert_eq!(compare_deviation(15, 7, 15), Compared::TooCloseToCall);
        assert_eq!(compare_deviation(15, 10, 15), Compared::Within);
        assert_eq!(compare_deviation(17, 7, 15), Compared::TooCloseToCall);
        assert_eq!(compare_deviation(20, 7, 15), Compared::Over);
        assert_eq!(compare_deviation(18, 40, 15), Compared::Over);
    }

    #[test]
    fn the_nearer_to_the_limit_the_more_attempts_it_takes() {
        // 20 and 17 over 15 are 1.78 and 1.28 squared: χ² / n is below that at 6 and 49 degrees.
        assert_eq!(more_attempts(20, 5, 15), 1);
        assert_eq!(more_attempts(17, 5, 15), MOST_ATTEMPTS - 1);
        assert_eq!(more_attempts(17, 13, 15), 3);
    }

    #[test]
    fn quantiles_go_on_beyond_their_tables() {
        assert!(chi_square_90(65) <= chi_square_90(64));
        assert!((1_120..1_130).contains(&chi_square_90(220)), "{}", chi_square_90(220));
        assert_eq!(student_99(30), 2_457);
        assert!((2_355..2_365).contains(&student_99(120)), "{}", student_99(120));
    }
}
