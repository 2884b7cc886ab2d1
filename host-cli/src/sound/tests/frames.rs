use super::RATE;
use crate::sound::frames::{Board, Frames, State};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The reports of a card that takes blocks of 256 frames: `ppm` too fast, up to `jitter`
/// microseconds late, seeded.
fn reports(ppm: f64, jitter: u64) -> impl Iterator<Item = (u64, f64, f64)> {
    let mut seed = 7_u64;
    (0..120 * u64::from(RATE) / 256).map(move |block| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let late = ((seed >> 33) % (jitter + 1)) as f64;
        let heard = 5e6 + (block * 256) as f64 / f64::from(RATE) * 1e6 * (1.0 - ppm / 1e6);
        (block * 256, heard, heard + late)
    })
}

#[test]
fn a_card_that_runs_fast_or_slow_is_followed_through_jitter() {
    for ppm in [-100.0, 0.0, 100.0] {
        let mut frames = Frames::new(RATE);
        for (frame, heard, reported) in reports(ppm, 3_000) {
            let reading = frames.report(frame, reported);
            // The mean lateness, 1.5 ms, cannot be told from latency.
            let off = (reading.heard(frame) - heard - 1_500.0).abs();
            if frame > 5 * u64::from(RATE) {
                assert!(off < 500.0, "{ppm} ppm: {off} µs off at {frame}");
            }
            let there = reading.frame(reading.heard(frame + 480));
            assert_eq!(there, frame + 480);
        }
    }
}

#[test]
fn after_a_long_gap_the_card_is_followed_anew_at_once() {
    let mut frames = Frames::new(RATE);
    for (frame, _, reported) in reports(0.0, 0).take(2_000) {
        frames.report(frame, reported);
    }
    let reading = frames.report(512_000, 60e6);
    assert_eq!(reading.heard(512_000), 60e6);
}

#[test]
fn the_board_never_shows_half_of_a_writing() {
    let board = Arc::new(Board::default());
    assert_eq!(board.read(), None);
    let end = Arc::new(AtomicBool::new(false));
    let (there, ended) = (Arc::clone(&board), Arc::clone(&end));
    let state = |number: u64| {
        let reading = Frames::new(RATE).report(number, number as f64);
        State { reading, next: number, block: number, latency: number }
    };
    let writer = std::thread::spawn(move || {
        for number in 1..200_000 {
            there.write(&state(number));
        }
        ended.store(true, Ordering::Relaxed);
    });
    while !end.load(Ordering::Relaxed) {
        if let Some(seen) = board.read() {
            assert_eq!(seen, state(seen.next));
        }
    }
    writer.join().unwrap();
    assert_eq!(board.written(), 199_999);
}
