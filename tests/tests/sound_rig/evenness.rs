//! How even a captured click is, judged by the capture's own frames.
//!
//! Where a machine is too busy to fill a block in time, the output runs dry: the rest of the block
//! is lost on its way out, and all that follows is shifted by it. That is the output's doing, and
//! the program counts how often it was told so. A click that is uneven by itself is so without.

use std::ops::Range;

/// A beat falls on a whole frame, so two neighbours are at most one frame from where they should
/// be; by calculation.
const ROUNDING: f64 = 1.0;

/// The largest and the usual (root mean square) distance of these times from beats that are
/// equally far apart, in the unit of the times.
pub(super) fn unevenness(times: &[f64], beat: f64) -> (f64, f64) {
    let offs = (0..).zip(times).map(|(number, time)| time - f64::from(number) * beat);
    let offs: Vec<f64> = offs.collect();
    let mean = offs.iter().sum::<f64>() / offs.len() as f64;
    let largest = offs.iter().fold(0.0, |most: f64, off| most.max((off - mean).abs()));
    let squares = offs.iter().map(|off| (off - mean).powi(2)).sum::<f64>();
    (largest, (squares / offs.len() as f64).sqrt())
}

/// The clicks between two places where something is shifted, in frames.
pub(super) fn stretches(frames: &[f64], beat: f64) -> Vec<Range<usize>> {
    let mut stretches = Vec::new();
    let mut from = 0;
    for next in 1..frames.len() {
        if (frames[next] - frames[next - 1] - beat).abs() > ROUNDING {
            stretches.push(from..next);
            from = next;
        }
    }
    stretches.push(from..frames.len());
    stretches
}

#[test]
fn a_click_that_is_shifted_falls_into_two_stretches() {
    let even: Vec<f64> = (0..12).map(|beat| f64::from(beat) * 14_400.5).map(f64::round).collect();
    assert_eq!(stretches(&even, 14_400.5), std::iter::once(0..12).collect::<Vec<_>>());
    assert!(unevenness(&even, 14_400.5).0 <= 0.5);
    let shift = |from: usize, by: f64| {
        let shifted = even.iter().enumerate();
        shifted.map(|(at, frame)| frame - if at >= from { by } else { 0.0 }).collect::<Vec<f64>>()
    };
    assert_eq!(stretches(&shift(5, 128.0), 14_400.5), [0..5, 5..12]);
    assert!(unevenness(&shift(5, 128.0), 14_400.5).0 > 48.0);
    // One beat that is off is two shifts.
    let mut one = even.clone();
    one[7] += 60.0;
    assert_eq!(stretches(&one, 14_400.5), [0..7, 7..8, 8..12]);
}

#[test]
fn a_click_that_drifts_is_one_stretch_and_uneven() {
    let slow: Vec<f64> = (0..100).map(|beat| f64::from(beat) * 14_401.4).collect();
    assert_eq!(stretches(&slow, 14_400.5).len(), 1);
    assert!(unevenness(&slow, 14_400.5).0 > 40.0);
}
