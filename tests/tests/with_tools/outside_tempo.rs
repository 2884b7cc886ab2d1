//! The tempo fit against `scipy.stats.theilslopes(method="joint")` (scipy 1.17).
//!
//! The core works in whole microseconds, so it may differ by its rounding and no more:
//! - the pace by up to 1 µs a quarter: half a microsecond for the result, and as much again
//!   where the median lies between two slopes, which are cut to half microseconds first;
//! - a start (scipy's intercept) by what such a difference in pace makes over the length of the
//!   music, 1 µs a quarter, and by 1 µs for the rounding of the written time and of the median.
//!
//! Positions are distinct, as the events of a chunk are. Times have ties: equal times, equal
//! intervals, equal slopes.

use evenhand_core::measure::onsets::{Numbers, Point};
use evenhand_core::measure::tempo::{own_tempo, residuals, slope};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Offset, Ticks};
use evenhand_tests::outside;
use evenhand_tests::seeded::Seeded;
use serde_json::{Value, json};

const CASES: u64 = 400;
/// Slopes are compared per quarter, and scipy's are per tick.
const QUARTER: f64 = Ticks::PER_QUARTER as f64;

/// An attempt at up to 60 events: a steady pace with noise; in some, up to a quarter of the
/// notes are out by up to a second, and in some, times are rounded to 10 ms.
fn points(seed: u64) -> Vec<Point> {
    let mut seeded = Seeded::new(seed);
    let number = seeded.between(3, 60) as u16;
    let pace = seeded.between(200_000, 1_500_000) as f64;
    let noise = [0.0, 5_000.0, 25_000.0][seeded.index(3)];
    let strays = [0.0, 0.1, 0.25][seeded.index(3)];
    let grid = [1.0, 10_000.0][seeded.index(2)];
    let shortest = [Ticks::PER_QUARTER / 4, Ticks::PER_QUARTER / 3][seeded.index(2)];
    let mut position = Ticks::PER_QUARTER * seeded.between(0, 2) as u32;
    (0..number)
        .map(|note| {
            let steady = f64::from(position) * pace / QUARTER + noise * seeded.normal();
            let astray = if seeded.chance(strays) { 2e6 * (seeded.unit() - 0.5) } else { 0.0 };
            let time = ((steady + astray) / grid).round() * grid;
            let written = Ticks::new(position);
            position += shortest * seeded.between(1, 4) as u32;
            Point { written, played: Offset::from_micros(time as i32), note }
        })
        .collect()
}

/// Scipy's slope in microseconds a quarter and its intercept at the first point, for each case.
fn by_scipy(cases: &[Vec<Point>]) -> Vec<(f64, f64)> {
    let points = |case: &Vec<Point>| -> Value {
        // Counted from the first point, as the core does.
        let point =
            |point: &Point| (point.written.since(case[0].written).get(), point.played.as_micros());
        case.iter().map(point).map(|(x, y)| json!([x, y])).collect()
    };
    let question = json!({"cases": cases.iter().map(points).collect::<Value>()});
    let answer = outside::ask("theil_sen.py", &question);
    let fits = answer["cases"].as_array().expect("an answer for each case");
    let number = |value: &Value| value.as_f64().expect("a number");
    fits.iter().map(|fit| (number(&fit["slope"]) * QUARTER, number(&fit["intercept"]))).collect()
}

pub(crate) fn pace_and_start_are_scipys() {
    let cases: Vec<Vec<Point>> = (0..CASES).map(points).collect();
    let fits = by_scipy(&cases);
    assert_eq!(fits.len(), cases.len());
    let mut starts = 0;
    for (seed, (points, (pace, intercept))) in cases.iter().zip(fits).enumerate() {
        let Some(ours) = slope(points) else {
            // A pace that rounds to 0 or below is no tempo, and the core says so.
            assert!(pace < 1.0, "seed {seed}: no pace, scipy has {pace}");
            continue;
        };
        let apart = (f64::from(ours) - pace).abs();
        assert!(apart <= 1.0, "seed {seed}: {ours} µs a quarter, scipy {pace}");

        // The whole fit makes a new start after each break; without breaks there is one line.
        let Some(tempo) = own_tempo(points, Tolerances::default().hesitation)
            .filter(|tempo| tempo.breaks.is_empty())
        else {
            continue;
        };
        assert_eq!(tempo.pace, ours, "seed {seed}: the fit without breaks is the slope");
        let (first, last) = (points[0], points[points.len() - 1]);
        let mut late = Numbers::new();
        residuals(points, &tempo, &mut late);
        let start = f64::from(first.played.as_micros()) - f64::from(late[0]);
        let quarters = f64::from(last.written.since(first.written).get()) / QUARTER;
        let apart = (start - intercept).abs();
        assert!(apart <= quarters + 1.0, "seed {seed}: start {start} µs, scipy {intercept}");
        starts += 1;
    }
    assert!(starts > CASES / 2, "only {starts} starts were compared");
}
