//! The best test that could be made, by Neyman and Pearson's lemma: how often at least a fault
//! passes, whoever judges.
//!
//! Whoever judges knows how the player scatters and what a fault looks like, but not where it is,
//! which way it goes, when the player began, and at which pace. So two mixtures are compared, all
//! places and both ways equally likely in each: half of what is allowed, which may need work in one
//! case of a hundred, and the fault. Start and pace are taken out of the onsets first: what is left
//! is the maximal invariant. How late an unknown pickup is adds to chance. The likelihood ratio of the mixtures is then the most powerful test there is.
//! Nothing here is a constant of the judge's own but the limits themselves.

use super::bounds::{chi_square, normal};
use crate::seeded::Seeded;

/// What half of the tolerance may be called needs work in.
pub const FALSE_ALARMS: f64 = 0.01;

/// Drawings from each mixture. The bound is good to 0.2 per cent.
const DRAWINGS: usize = 4_000;

/// Measured values, and what is known of them.
#[derive(Clone, Debug)]
pub struct Values {
    /// The covariance of what chance adds to them, each time anew.
    pub covariance: Vec<Vec<f64>>,
    /// What is added so many times as chance says, with a deviation of 1, but in all attempts alike.
    pub common: Option<Vec<f64>>,
    /// What may be added to all of them without meaning anything: so many times each of these.
    pub nuisance: Vec<Vec<f64>>,
}

impl Values {
    /// The same from so many attempts together: their mean, since the fault is the same in each.
    #[must_use]
    pub fn together(mut self, attempts: u32) -> Self {
        let cells = self.covariance.iter_mut().flatten();
        cells.for_each(|cell| *cell /= f64::from(attempts));
        self
    }

    /// How many of them say something.
    pub fn degrees(&self) -> u32 {
        self.basis().len() as u32
    }

    /// The least share of faults that pass. `half` are the shapes of what half of the tolerance
    /// adds at each place, `full` those of the fault.
    pub fn passed_at_least(&self, half: &[Vec<f64>], full: &[Vec<f64>]) -> f64 {
        let basis = self.basis();
        if basis.is_empty() || half.is_empty() || full.is_empty() {
            return 1.0 - FALSE_ALARMS;
        }
        let mut covariance = self.covariance.clone();
        if let Some(common) = &self.common {
            for (row, x) in covariance.iter_mut().zip(common) {
                row.iter_mut().zip(common).for_each(|(cell, y)| *cell += x * y);
            }
        }
        let whitened = Whitened::new(&basis, &covariance);
        let half: Vec<Vec<f64>> = half.iter().map(|shape| whitened.of(shape)).collect();
        let full: Vec<Vec<f64>> = full.iter().map(|shape| whitened.of(shape)).collect();
        let mut seeded = Seeded::new(0xbe57);
        let mut draw = |from: &[Vec<f64>]| -> f64 {
            let mut values = from[seeded.index(from.len())].clone();
            values.iter_mut().for_each(|value| *value += seeded.normal());
            likelihood(&values, &full) - likelihood(&values, &half)
        };
        let mut under_half: Vec<f64> = (0..DRAWINGS).map(|_| draw(&half)).collect();
        let place = (DRAWINGS as f64 * (1.0 - FALSE_ALARMS)) as usize;
        let threshold = *under_half.select_nth_unstable_by(place, f64::total_cmp).1;
        let passed = (0..DRAWINGS).filter(|_| draw(&full) <= threshold).count();
        passed as f64 / DRAWINGS as f64
    }

    /// An orthonormal basis of what the nuisance leaves (Gram and Schmidt).
    fn basis(&self) -> Vec<Vec<f64>> {
        let size = self.covariance.len();
        let mut taken: Vec<Vec<f64>> = Vec::new();
        for vector in &self.nuisance {
            taken.extend(left_of(vector, &taken));
        }
        let used = taken.len();
        for axis in 0..size {
            let unit: Vec<f64> = (0..size).map(|at| f64::from(u8::from(at == axis))).collect();
            taken.extend(left_of(&unit, &taken));
        }
        taken.split_off(used)
    }
}

/// What is left of a vector, made one long; nothing if nothing is left.
fn left_of(vector: &[f64], taken: &[Vec<f64>]) -> Option<Vec<f64>> {
    let length = dot(vector, vector).sqrt();
    let mut left: Vec<f64> = vector.iter().map(|x| x / length.max(f64::MIN_POSITIVE)).collect();
    // Twice, since the first time leaves rounding behind.
    for _ in 0..2 {
        for other in taken {
            let share = dot(&left, other);
            left.iter_mut().zip(other).for_each(|(x, y)| *x -= share * y);
        }
    }
    let length = dot(&left, &left).sqrt();
    (length > 1e-6).then(|| left.iter().map(|x| x / length).collect())
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The logarithm of the mean likelihood of shapes in white noise, but for what all have in common.
fn likelihood(values: &[f64], shapes: &[Vec<f64>]) -> f64 {
    let each = shapes.iter().map(|shape| dot(values, shape) - dot(shape, shape) / 2.0);
    let each: Vec<f64> = each.collect();
    let most = each.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = each.iter().map(|one| (one - most).exp()).sum();
    most + (sum / shapes.len() as f64).ln()
}

/// What turns values into independent ones of deviation 1.
struct Whitened<'a> {
    basis: &'a [Vec<f64>],
    /// The covariance in that basis as a lower triangle times its transpose (Cholesky).
    lower: Vec<Vec<f64>>,
}

impl<'a> Whitened<'a> {
    fn new(basis: &'a [Vec<f64>], covariance: &[Vec<f64>]) -> Self {
        let size = basis.len();
        let times: Vec<Vec<f64>> = basis
            .iter()
            .map(|row| covariance.iter().map(|column| dot(row, column)).collect())
            .collect();
        let mut lower = vec![vec![0.0; size]; size];
        for i in 0..size {
            for j in 0..=i {
                let left = dot(&times[i], &basis[j]) - dot(&lower[i][..j], &lower[j][..j]);
                lower[i][j] =
                    if i == j { left.max(f64::MIN_POSITIVE).sqrt() } else { left / lower[j][j] };
            }
        }
        Self { basis, lower }
    }

    fn of(&self, values: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(self.basis.len());
        for (row, basis) in self.lower.iter().zip(self.basis) {
            let so_far = solved.len();
            let left = dot(basis, values) - dot(&row[..so_far], &solved);
            solved.push(left / row[so_far]);
        }
        solved
    }
}

/// The least share of attempts that pass with a deviation `times` that of half the tolerance, if so
/// many degrees of freedom are left: the sum of squares is the most powerful invariant.
pub fn scatter_passed_at_least(times: f64, degrees: u32) -> f64 {
    if degrees == 0 {
        return 1.0 - FALSE_ALARMS;
    }
    let degrees = f64::from(degrees);
    let (mut low, mut high) = (0.0, 1_000.0);
    for _ in 0..80 {
        let middle = (low + high) / 2.0;
        let fits = chi_square(middle, degrees) < 1.0 - FALSE_ALARMS;
        if fits { low = middle } else { high = middle }
    }
    chi_square(low / (times * times), degrees)
}

/// The least share of attempts that pass whose mean is `apart` standard errors from that of half
/// the tolerance, on a known side.
pub fn shift_passed_at_least(apart: f64) -> f64 {
    /// The 99th percentile of the normal distribution.
    const QUANTILE_99: f64 = 2.326_347_874;
    normal(QUANTILE_99 - apart)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn white(size: usize, nuisance: Vec<Vec<f64>>) -> Values {
        let row = |i| (0..size).map(|j| f64::from(u8::from(i == j))).collect();
        Values { covariance: (0..size).map(row).collect(), common: None, nuisance }
    }

    /// With one place and no nuisance the test is the plain one of a normal mean.
    #[test]
    fn one_place_is_a_test_of_a_mean() {
        let values = white(1, Vec::new());
        for apart in [1.0, 3.0, 5.0] {
            let drawn = values.passed_at_least(&[vec![1.0]], &[vec![1.0 + apart]]);
            let known = shift_passed_at_least(apart);
            assert!((drawn - known).abs() < 0.02, "{apart}: {drawn}, {known}");
        }
    }

    #[test]
    fn what_the_nuisance_explains_is_not_told() {
        let values = white(4, vec![vec![1.0; 4], vec![0.0, 1.0, 2.0, 3.0]]);
        assert_eq!(values.degrees(), 2);
        let shape = |slope: f64| vec![(0..4).map(|at| 5.0 + slope * f64::from(at)).collect()];
        let passed = values.passed_at_least(&shape(0.0), &shape(100.0));
        assert!((passed - 0.99).abs() < 0.01, "{passed}");
    }

    #[test]
    fn more_fault_and_more_attempts_are_told_more_often() {
        let values = white(6, vec![vec![1.0; 6]]);
        let at = |size: f64| -> Vec<Vec<f64>> {
            (0..6)
                .map(|place| (0..6).map(|i| if i == place { size } else { 0.0 }).collect())
                .collect()
        };
        let passed = |size| values.passed_at_least(&at(1.0), &at(size));
        assert!(passed(3.0) > passed(4.0) && passed(4.0) > passed(6.0));
        let together = values.clone().together(3).passed_at_least(&at(1.0), &at(3.0));
        assert!(together < passed(3.0));
    }

    /// χ² with two degrees of freedom is exponential: 1 − e^(−x/2).
    #[test]
    fn scatter_with_two_degrees_is_exponential() {
        let threshold = -2.0 * 0.01_f64.ln();
        let expected = 1.0 - (-threshold / 36.0 / 2.0).exp();
        assert!((scatter_passed_at_least(6.0, 2) - expected).abs() < 1e-6);
    }
}
