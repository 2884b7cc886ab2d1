//! What so few notes can tell at best, by calculation.
//!
//! The distributions are computed here, in the plainest form, so that the table needs nothing
//! from outside; `tests/outside_bounds.rs` compares them with scipy.

use crate::seeded::Seeded;

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

/// The same for the non-central distribution: a Poisson mixture of central ones.
pub fn chi_square_off_centre(x: f64, degrees: f64, away: f64) -> f64 {
    let half = away / 2.0;
    let most = (half + 12.0 * half.sqrt() + 30.0) as u32;
    (0..=most)
        .map(|k| {
            let k = f64::from(k);
            let weight = (k * half.max(f64::MIN_POSITIVE).ln() - half - ln_gamma(k + 1.0)).exp();
            weight * chi_square(x, degrees + 2.0 * k)
        })
        .sum()
}

/// The share of the standard normal distribution below `z`.
pub fn normal(z: f64) -> f64 {
    // z² is χ² with one degree of freedom.
    let between = chi_square(z * z, 1.0) / 2.0;
    if z < 0.0 { 0.5 - between } else { 0.5 + between }
}

/// The share of Student's t below `t`, by adding up its density (Simpson, 2,000 steps).
pub fn student(t: f64, degrees: f64) -> f64 {
    let scale = (ln_gamma((degrees + 1.0) / 2.0) - ln_gamma(degrees / 2.0)).exp()
        / (degrees * std::f64::consts::PI).sqrt();
    let density = |x: f64| scale * (1.0 + x * x / degrees).powf(-(degrees + 1.0) / 2.0);
    let steps = 2_000;
    let width = t / f64::from(steps);
    let sum: f64 = (0..=steps)
        .map(|i| {
            let weight = if i == 0 || i == steps { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
            weight * density(width * f64::from(i))
        })
        .sum();
    0.5 + sum * width / 3.0
}

/// The share of attempts whose measured standard deviation is over `limit` times the true one.
pub fn deviation_over(limit: f64, degrees: u32) -> f64 {
    let degrees = f64::from(degrees);
    1.0 - chi_square(degrees * limit * limit, degrees)
}

/// The standard error of a drift, in shares of the pace, for so many even onsets: twice the
/// coefficient of the square, times the n − 1 intervals. Hands and clock are standard deviations
/// in intervals. Hands are white noise; the clock is a walk, which carries each step on.
pub fn drift_error(onsets: u32, hands: f64, clock: f64) -> f64 {
    // The weights of the estimate: the square, less what a straight line explains of it.
    let n = f64::from(onsets);
    let places: Vec<f64> = (0..onsets).map(|i| f64::from(i) - (n - 1.0) / 2.0).collect();
    let mean = places.iter().map(|x| x * x).sum::<f64>() / n;
    let square = |x: &f64| x * x - mean;
    let whole: f64 = places.iter().map(|x| square(x) * square(x)).sum();
    let weights: Vec<f64> = places.iter().map(|x| square(x) / whole).collect();
    let white: f64 = weights.iter().map(|weight| weight * weight).sum();
    // A step of the clock at one onset moves that and all that follow.
    let carried: f64 = (0..weights.len()).map(|i| weights[i..].iter().sum::<f64>().powi(2)).sum();
    2.0 * (n - 1.0) * (hands * hands * white + clock * clock * carried).sqrt()
}

/// The share of attempts in which a true drift is both over the limit and more than a steady
/// player makes in one case of a hundred: what a rule can catch that leaves steady players
/// alone. `known` is the error as the scatter of the onsets tells it, `error` the true one. The
/// scatter is estimated from the same onsets, so Student's t says how much chance makes.
pub fn drift_caught(drift: f64, limit: f64, (known, error): (f64, f64), degrees: u32) -> f64 {
    let quantile = f64::from(evenhand_core::measure::statistics::student_99(degrees)) / 1_000.0;
    // Over the scatter's own distribution, in two hundred equal shares.
    let shares = 200;
    let caught: f64 = (0..shares)
        .map(|share| {
            let estimated = chi_share((f64::from(share) + 0.5) / f64::from(shares), degrees);
            let threshold = limit.max(quantile * known * estimated);
            1.0 - normal((threshold - drift) / error)
        })
        .sum();
    caught / f64::from(shares)
}

/// The share of attempts at onsets written at `places` in which a stretch, slower by `slower` and
/// known to be `inside`, can be told from chance and from one pause: with its longest interval
/// taken for a right one, its slope against the pace of the whole (the median slope over all pairs)
/// is still over the limit, and over `errors` standard errors. Places and the `scatter` are in
/// intervals. How far the onsets scatter is known from the distance of each from its two neighbours,
/// without the two where the stretch bends, each of which is worth half a degree of freedom
/// (their correlations are −2/3 and 1/6: 1 / (1 + 2 Σ ρ²) = 0.51), and never less than `least`. By
/// 2,000 drawings from a seed, since the longest of several intervals has no plain distribution.
pub fn stretch_told(
    places: &[f64],
    inside: std::ops::Range<usize>,
    slower: f64,
    limit: f64,
    (scatter, least): (f64, f64),
    errors: f64,
) -> f64 {
    let mut seeded = Seeded::new(places.len() as u64);
    let run = &places[inside.clone()];
    let (from, to) = (run[0], run[run.len() - 1]);
    let mean = run.iter().sum::<f64>() / run.len() as f64;
    let width: f64 = run.iter().map(|x| (x - mean).powi(2)).sum();
    let degrees = (places.len().saturating_sub(4) / 2).max(1);
    let drawings = 2_000;
    let mut told = 0;
    for _ in 0..drawings {
        let played = |x: &f64| x + (x.clamp(from, to) - from) * slower + scatter * seeded.normal();
        let onsets: Vec<f64> = places.iter().map(played).collect();
        let pace = median_slope(places, &onsets);
        let late = |at: usize| onsets[at] - pace * places[at];
        let mut late: Vec<f64> =
            inside.clone().map(|at| late(at) * slower.signum() / pace).collect();
        let excess = |at: &usize| late[*at] - late[*at - 1];
        let longest = (1..late.len()).max_by(|a, b| excess(a).total_cmp(&excess(b)));
        let longest = longest.expect("two onsets");
        let by = excess(&longest);
        late[longest..].iter_mut().for_each(|onset| *onset -= by);
        let slope = run.iter().zip(&late).map(|(x, late)| (x - mean) * late).sum::<f64>() / width;
        let squares: f64 = (0..degrees).map(|_| seeded.normal().powi(2)).sum();
        let estimated = (scatter * (squares / degrees as f64).sqrt()).max(least) / pace;
        told += u32::from(slope > limit.max(errors * estimated / width.sqrt()));
    }
    f64::from(told) / f64::from(drawings)
}

/// The median slope over all pairs.
fn median_slope(places: &[f64], onsets: &[f64]) -> f64 {
    let mut slopes: Vec<f64> = Vec::new();
    for (index, (x, y)) in places.iter().zip(onsets).enumerate() {
        let later = places.iter().zip(onsets).skip(index + 1);
        slopes.extend(later.map(|(later_x, later_y)| (later_y - y) / (later_x - x)));
    }
    let middle = slopes.len() / 2;
    *slopes.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// What is left of `values` at `places`, as a sum of squares, when the best parabola is taken off:
/// a start, a pace and a drift (Gram and Schmidt's polynomials over these places).
pub fn left_of_a_parabola(places: &[f64], values: &[f64]) -> f64 {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let less = |from: Vec<f64>, part: &[f64]| -> Vec<f64> {
        let share = dot(&from, part) / dot(part, part);
        from.iter().zip(part).map(|(value, part)| value - share * part).collect()
    };
    let one = vec![1.0; places.len()];
    let line = less(places.to_vec(), &one);
    let square = less(less(places.iter().map(|x| x * x).collect(), &one), &line);
    let rest = less(less(less(values.to_vec(), &one), &line), &square);
    dot(&rest, &rest)
}

/// The share of attempts in which the weakest of so many accents is under its limit, if each is
/// over it by `over` standard deviations of its distance from its neighbours (under, if negative).
pub fn weakest_under(over: f64, accents: u32) -> f64 {
    1.0 - normal(over).powi(accents as i32)
}

/// The estimate of a standard deviation of 1 below which this share of all estimates lies.
fn chi_share(share: f64, degrees: u32) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        let below = chi_square(middle * middle * f64::from(degrees), f64::from(degrees)) < share;
        if below { low = middle } else { high = middle }
    }
    low
}
