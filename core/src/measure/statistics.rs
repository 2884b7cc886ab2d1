//! Robust statistics in integers.

/// The median; of an even number the mean of the middle two, rounded towards negative
/// infinity. `None` of nothing. Reorders its argument.
pub fn median(values: &mut [i32]) -> Option<i32> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let even = values.len().is_multiple_of(2);
    let (below, &mut upper, _) = values.select_nth_unstable(middle);
    if !even {
        return Some(upper);
    }
    let lower = below.iter().copied().max().unwrap_or(upper);
    Some(((i64::from(lower) + i64::from(upper)).div_euclid(2)) as i32)
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

/// The square root of the mean of squares, over `degrees` of freedom; `None` without any.
pub fn deviation(sum_of_squares: u64, degrees: u32) -> Option<i32> {
    if degrees == 0 {
        return None;
    }
    let mean = (sum_of_squares + u64::from(degrees) / 2) / u64::from(degrees);
    Some(i32::try_from(mean.isqrt()).unwrap_or(i32::MAX))
}

/// How a measured standard deviation compares with a limit for the true one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compared {
    /// At most the limit.
    Within,
    /// Above it, but so near, for so few notes, that a true value at the limit would give
    /// as much in more than one attempt of ten.
    TooCloseToCall,
    /// Above it.
    Over,
}

/// Compares a measured standard deviation with a limit. A value equal to the limit is
/// within it.
pub fn compare_deviation(measured: i32, degrees: u32, limit: i32) -> Compared {
    if measured <= limit {
        return Compared::Within;
    }
    let index = degrees.saturating_sub(1) as usize;
    let factor = CHI_SQUARE_90.get(index).or(CHI_SQUARE_90.last()).copied().unwrap_or(u16::MAX);
    // measured² · degrees > limit² · χ²: with 90 % confidence the true value is over.
    let measured = i64::from(measured).pow(2).saturating_mul(1_000);
    let needed = i64::from(limit).pow(2).saturating_mul(i64::from(factor));
    if measured > needed { Compared::Over } else { Compared::TooCloseToCall }
}

/// The 0.90 quantile of χ² with 1 to 64 degrees of freedom, over the degrees, in per mille.
/// Computed; the tests compare it with scipy's `chi2.ppf`. Beyond 64 the last value is a
/// little strict on the side of "too close to call".
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
        assert_eq!(compare_deviation(15, 7, 15), Compared::Within);
        assert_eq!(compare_deviation(17, 7, 15), Compared::TooCloseToCall);
        assert_eq!(compare_deviation(20, 7, 15), Compared::Over);
        assert_eq!(compare_deviation(18, 40, 15), Compared::Over);
    }
}
