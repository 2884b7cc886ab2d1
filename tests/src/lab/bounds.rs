//! Distributions, in the plainest form, so that the tables need nothing from outside;
//! `tests/outside_quantiles.rs` compares them with scipy.

/// ln Γ(x) for positive x (Lanczos 1964, with the coefficients for g = 7 and nine terms, as in
/// Press et al., Numerical Recipes).
fn ln_gamma(x: f64) -> f64 {
    const TERMS: [f64; 8] = [
        676.520_368_121_885_1,
        -1_259.139_216_722_402_8,
        771.323_428_777_653_1,
        -176.615_029_162_140_6,
        12.507_343_278_686_905,
        -0.138_571_095_265_720_12,
        9.984_369_578_019_572e-6,
        1.505_632_735_149_311_6e-7,
    ];
    let x = x - 1.0;
    let sum = TERMS
        .iter()
        .zip(1..)
        .fold(0.999_999_999_999_809_9, |sum, (term, i)| sum + term / (x + f64::from(i)));
    let t = x + 7.5;
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * t.ln() - t + sum.ln()
}

/// The share of χ² with so many degrees of freedom below `x`: the regularised lower incomplete
/// gamma function, by its series.
pub fn chi_square(x: f64, degrees: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let (a, x) = (degrees / 2.0, x / 2.0);
    let (mut term, mut sum, mut k) = (1.0 / a, 1.0 / a, a);
    while term > sum * 1e-15 {
        k += 1.0;
        term *= x / k;
        sum += term;
    }
    (sum * (a * x.ln() - x - ln_gamma(a)).exp()).min(1.0)
}

/// The share of the standard normal distribution below `z`.
pub fn normal(z: f64) -> f64 {
    // z² is χ² with one degree of freedom.
    let between = chi_square(z * z, 1.0) / 2.0;
    if z < 0.0 { 0.5 - between } else { 0.5 + between }
}

/// The probability of at least so many out of so many, if each is one with probability `share`
/// (binomial).
pub fn at_least(count: u32, of: u32, share: f64) -> f64 {
    if count == 0 {
        return 1.0;
    }
    let (k, n) = (f64::from(count), f64::from(of));
    let ways = ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0);
    let mut term = (ways + k * share.ln() + (n - k) * (-share).ln_1p()).exp();
    let mut sum = 0.0;
    for count in count..=of {
        sum += term;
        let left = f64::from(of - count);
        term *= left / (f64::from(count) + 1.0) * share / (1.0 - share);
    }
    sum.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_binomial_tail_is_that_of_counting() {
        // Two heads or more in three throws: half of the eight ways. Three of three: one.
        assert!((at_least(2, 3, 0.5) - 0.5).abs() < 1e-9);
        assert!((at_least(3, 3, 0.5) - 0.125).abs() < 1e-9);
        assert!((at_least(1, 10, 0.1) - (1.0 - 0.9_f64.powi(10))).abs() < 1e-9);
        assert!((at_least(0, 10, 0.1) - 1.0).abs() < 1e-9);
    }
}
