//! The core's statistics against scipy (1.17): the robust deviation and the slopes of stretches.
//!
//! The core works in whole numbers, so it may differ by their rounding and no more:
//! - the robust deviation by 1 for its own rounding and 0.75 (half of 1.4826) for the median of
//!   an even number, and by two millionths for 1.4826 in place of 1.482602;
//! - a slope by 1 per mille, which it is cut to.
//!
//! The median slope is compared in `outside_tempo.rs`, the quantiles in `outside_quantiles.rs`.

use evenhand_core::measure::NoteSet;
use evenhand_core::measure::onsets::{Point, Points};
use evenhand_core::measure::statistics::robust_deviation;
use evenhand_core::measure::stretch::stretch;
use evenhand_core::measure::tempo::Tempo;
use evenhand_core::measure::timing::Timing;
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Offset, Ticks};
use evenhand_tests::outside;
use evenhand_tests::seeded::Seeded;
use serde_json::{Value, json};

const CASES: u64 = 300;
const CENTRE: i32 = 40;
const PACE: u32 = 400_000;

fn values(seed: u64) -> Vec<i32> {
    let mut seeded = Seeded::new(seed);
    let number = seeded.between(1, 60);
    let width = [3, 5_000, 2_000_000][seeded.index(3)];
    (0..number).map(|_| seeded.between(-width, width) as i32).collect()
}

/// Onsets at eighths, sixteenths and triplets, some of which lie on a slope.
fn timing(seed: u64) -> Timing {
    let mut seeded = Seeded::new(1_000 + seed);
    let number = seeded.between(8, 40) as u16;
    let from = seeded.between(0, 6) as u16;
    let slope = seeded.between(80, 300) * if seeded.chance(0.5) { 1 } else { -1 };
    let lengths = [2, 3, 4].map(|part| Ticks::PER_QUARTER / part);
    let (mut position, mut moved) = (0_u32, 0_i64);
    let mut timing = Timing {
        points: Points::default(),
        tempo: None,
        residuals: Default::default(),
        interval: Offset::from_micros(PACE as i32 / 2),
        drift_per_mille: None,
        drift_error: 0,
        drift_error_a_second: 0,
        maybe_a_pause: false,
        taken_off: Offset::ZERO,
        steadiness: None,
        all_counted: None,
        vague: NoteSet::default(),
        out: NoteSet::default(),
        off_beat: None,
        click: None,
    };
    for note in 0..number {
        let residual = moved + (4_000.0 * seeded.normal()) as i64;
        let steady = i64::from(position) * i64::from(PACE) / i64::from(Ticks::PER_QUARTER);
        let played = Offset::from_micros((steady + residual) as i32);
        timing.points.push(Point { written: Ticks::new(position), played, note }).expect("room");
        timing.residuals.push(residual as i32).expect("room");
        let length = lengths[seeded.index(3)];
        position += length;
        if (from..from + 7).contains(&note) {
            moved += i64::from(length) * i64::from(PACE) * slope
                / (1_000 * i64::from(Ticks::PER_QUARTER));
        }
    }
    timing.tempo = Some(Tempo { pace: PACE, breaks: Default::default(), points: number.into() });
    timing
}

pub(crate) fn statistics_are_scipys() {
    let deviations: Vec<Vec<i32>> = (0..CASES).map(values).collect();
    let pause = Tolerances::default().hesitation;
    let timings: Vec<Timing> = (0..CASES).map(timing).collect();
    let found: Vec<_> =
        timings.iter().filter_map(|timing| Some((timing, stretch(timing, 60, pause)?))).collect();
    assert!(found.len() as u64 > CASES / 2, "only {} stretches were found", found.len());
    let run = |timing: &Timing, first: usize, last: usize| -> Value {
        let both = timing.points.iter().zip(&timing.residuals);
        both.filter(|(point, _)| (first..=last).contains(&usize::from(point.note)))
            .map(|(point, residual)| json!([point.written.get(), residual]))
            .collect()
    };
    let slopes: Value =
        found.iter().map(|(timing, stretch)| run(timing, stretch.note, stretch.last)).collect();
    let question = json!({
        "deviation": {"centre": CENTRE, "cases": deviations},
        "slopes": slopes,
    });
    let answer = outside::ask("statistics.py", &question);
    let numbers = |name: &str| -> Vec<f64> {
        let list = answer[name].as_array().expect("a list");
        list.iter().map(|value| value.as_f64().expect("a number")).collect()
    };

    let robust = numbers("deviation");
    assert_eq!(robust.len(), deviations.len());
    for (seed, (case, theirs)) in deviations.iter().zip(robust).enumerate() {
        let ours = robust_deviation(&mut case.clone(), CENTRE);
        let apart = (f64::from(ours) - theirs).abs();
        assert!(apart <= 1.75 + theirs * 2e-6, "seed {seed}: {ours}, scipy {theirs}");
    }

    let slopes = numbers("slopes");
    assert_eq!(slopes.len(), found.len());
    for ((_, stretch), slope) in found.iter().zip(slopes) {
        let theirs = slope * f64::from(Ticks::PER_QUARTER) * 1_000.0 / f64::from(PACE);
        let apart = (f64::from(stretch.per_mille) - theirs).abs();
        assert!(apart <= 1.0, "{stretch:?}, scipy {theirs} per mille");
    }
}
