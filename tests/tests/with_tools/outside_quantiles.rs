//! The judge's tables of certainty, and the distributions that the bounds of the error rates are
//! computed with, against scipy 1.17 (`scipy.stats`: `chi2`, `ncx2`, `norm`, `t`).

use evenhand_core::measure::statistics::{
    chi_square_90, chi_square_99, range_90, student_90, student_99, surely_within,
};
use evenhand_tests::lab::best::scatter_passed_at_least;
use evenhand_tests::lab::bounds;
use evenhand_tests::outside;
use serde_json::{Value, json};

/// Asks scipy for a list of values.
fn by_scipy(what: &[Value]) -> Vec<f64> {
    let answer = outside::ask("quantiles.py", &json!({"what": what}));
    let values: Vec<f64> = serde_json::from_value(answer["values"].clone()).expect("numbers");
    assert_eq!(values.len(), what.len());
    values
}

pub(crate) fn the_tables_of_the_judge_are_right_to_a_thousandth() {
    let degrees: Vec<u32> = (1..=64).chain([65, 80, 120, 300, 1_000]).collect();
    let mut what = Vec::new();
    for n in &degrees {
        what.push(json!(["chi-square quantile", 0.9, n]));
        what.push(json!(["student quantile", 0.9, n]));
        what.push(json!(["student quantile", 0.99, n]));
    }
    let values = by_scipy(&what);
    for (n, scipy) in degrees.iter().zip(values.chunks(3)) {
        let ours = [chi_square_90(*n), student_90(*n), student_99(*n)];
        let scipy = [scipy[0] / f64::from(*n), scipy[1], scipy[2]];
        // Within the tables half of the last place; beyond them what the expansions leave out.
        let beyond = [if *n > 64 { 3.0 } else { 0.0 }, if *n > 30 { 4.0 } else { 0.0 }];
        for (index, (ours, scipy)) in ours.iter().zip(scipy).enumerate() {
            let allowed = 0.51 + beyond[index.min(1)];
            let apart = (f64::from(*ours) - 1_000.0 * scipy).abs();
            assert!(apart <= allowed, "{n} degrees, table {index}: {ours}, scipy {scipy}");
        }
    }
}

pub(crate) fn the_ranges_of_normal_values_are_right_to_a_hundredth() {
    let groups: Vec<u32> = (0..8).map(|doublings| 1 << doublings).collect();
    let cases: Vec<(usize, u32)> =
        (2..=5).flat_map(|values| groups.iter().map(move |&groups| (values, groups))).collect();
    let what: Vec<Value> = cases
        .iter()
        .map(|&(values, groups)| {
            json!(["range quantile", 0.9_f64.powf(1.0 / f64::from(groups)), values])
        })
        .collect();
    for ((values, groups), scipy) in cases.iter().zip(by_scipy(&what)) {
        let ours = f64::from(range_90(*values, *groups)) / 100.0;
        assert!((ours - scipy).abs() <= 0.01, "{groups} groups of {values}: {ours}, scipy {scipy}");
    }
}

pub(crate) fn the_cube_of_what_is_nearly_normal_is_right_to_one_in_a_hundred() {
    let degrees: Vec<u32> = (1..=64).chain([120, 300, 1_000]).collect();
    let what: Vec<Value> =
        degrees.iter().map(|n| json!(["chi-square quantile", 0.99, n])).collect();
    for (n, scipy) in degrees.iter().zip(by_scipy(&what)) {
        let (ours, scipy) = (f64::from(chi_square_99(*n)), 1_000.0 * scipy / f64::from(*n));
        assert!((ours / scipy - 1.0).abs() <= 0.01, "{n} degrees: {ours}, scipy {scipy}");
    }
}

pub(crate) fn what_is_surely_within_is_what_twice_the_limit_rarely_gives() {
    let degrees: Vec<u32> = (1..=20).chain([64, 300]).collect();
    let what: Vec<Value> =
        degrees.iter().map(|n| json!(["chi-square quantile", 0.01, n])).collect();
    for (n, scipy) in degrees.iter().zip(by_scipy(&what)) {
        let share = (4_000.0 * scipy / f64::from(*n)).min(1_000.0);
        let ours = f64::from(surely_within(*n));
        assert!((ours - share).abs() <= 0.51, "{n} degrees: {ours}, scipy {share}");
    }
}

pub(crate) fn the_distributions_of_the_bounds_are_right_to_a_millionth() {
    let mut what = Vec::new();
    let mut ours = Vec::new();
    for degrees in [1.0, 4.0, 5.0, 12.0, 27.0] {
        for x in [0.3, 1.25, 5.0, 18.8, 40.0] {
            what.push(json!(["chi-square", x, degrees]));
            ours.push(bounds::chi_square(x, degrees));
        }
    }
    for z in [-3.0, -1.28, 0.0, 0.7, 2.33] {
        what.push(json!(["normal", z]));
        ours.push(bounds::normal(z));
    }
    for ((ours, scipy), what) in ours.iter().zip(by_scipy(&what)).zip(&what) {
        assert!((ours - scipy).abs() < 1e-6, "{what}: {ours}, scipy {scipy}");
    }
}

pub(crate) fn the_best_test_of_scatter_is_that_of_the_sum_of_squares() {
    let cases: Vec<(f64, u32)> = [1, 2, 6, 14, 40]
        .into_iter()
        .flat_map(|degrees| [2.0, 4.0, 6.0].map(|t| (t, degrees)))
        .collect();
    let quantiles: Vec<Value> =
        cases.iter().map(|(_, degrees)| json!(["chi-square quantile", 0.99, degrees])).collect();
    let below: Vec<Value> = cases
        .iter()
        .zip(by_scipy(&quantiles))
        .map(|((times, degrees), quantile)| {
            json!(["chi-square", quantile / (times * times), degrees])
        })
        .collect();
    for ((times, degrees), scipy) in cases.into_iter().zip(by_scipy(&below)) {
        let ours = scatter_passed_at_least(times, degrees);
        assert!((ours - scipy).abs() < 1e-6, "{times}, {degrees}: {ours}, scipy {scipy}");
    }
}
