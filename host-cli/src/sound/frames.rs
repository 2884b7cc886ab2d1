//! Which moment a frame is heard at: from the audio system's reports to the session's clock.
//!
//! A sound card counts frames by a quartz of its own, up to a tenth of a second an hour away from
//! the computer's clock, and reports come with jitter. So the two are tied together by a
//! delay-locked loop (F. Adriaensen, "Using a DLL to filter time", Linux Audio Conference 2005):
//! an estimate of when a frame is heard and of how long a frame lasts, both pulled a little by
//! every report.

use std::f64::consts::{SQRT_2, TAU};
use std::sync::atomic::{AtomicU64, Ordering, fence};

/// The loop's bandwidth in hertz: jitter above it is smoothed away. Our default; a quartz drifts
/// far slower.
const BANDWIDTH: f64 = 0.05;

/// For so long, in microseconds, reports are only averaged, so that the first ones weigh no more
/// than others. Our default.
const SETTLING: f64 = 2e6;

/// A report further away than this, in microseconds, means that the output stood still or the
/// machine slept: the loop begins anew. Our default.
const FAR: f64 = 100_000.0;

/// How far a card's rate may be from what it claims: quartz clocks keep within 100 parts of a
/// million of each other, converters of rates do a little worse. Our default.
const FARTHEST_RATE: f64 = 1e-3;

/// How frames and moments belong together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    /// Some frame.
    frame: u64,
    /// When it is heard, in microseconds of the session's clock.
    micros: f64,
    /// How long a frame lasts, in microseconds.
    period: f64,
}

impl Reading {
    /// When a frame is heard.
    pub(super) fn heard(&self, frame: u64) -> f64 {
        let ahead = i128::from(frame) - i128::from(self.frame);
        self.micros + ahead as f64 * self.period
    }

    /// The frame that is heard at this moment; the first one, if none is.
    pub(super) fn frame(&self, micros: f64) -> u64 {
        // A cast from a floating point number stays within the range.
        (self.frame as f64 + (micros - self.micros) / self.period).round() as u64
    }
}

/// The loop.
#[derive(Clone, Debug)]
pub(super) struct Frames {
    nominal: f64,
    reading: Option<Reading>,
    /// When the loop began, and how many reports it has had.
    begun: f64,
    reports: u32,
}

impl Frames {
    pub(super) fn new(rate: u32) -> Self {
        let nominal = 1e6 / f64::from(rate.max(1));
        Self { nominal, reading: None, begun: 0.0, reports: 0 }
    }

    /// Takes up that a frame is heard at this moment, by the audio system's word.
    pub(super) fn report(&mut self, frame: u64, micros: f64) -> Reading {
        let expected = self.reading.map(|reading| (reading, reading.heard(frame)));
        let reading = match expected {
            Some((before, expected)) if (micros - expected).abs() <= FAR => {
                self.reports = self.reports.saturating_add(1);
                let error = micros - expected;
                let passed = expected - before.micros;
                let turn = (TAU * BANDWIDTH * passed / 1e6).clamp(0.0, 0.5);
                if micros - self.begun < SETTLING || passed <= 0.0 {
                    let micros = expected + error / f64::from(self.reports);
                    Reading { frame, micros, period: before.period }
                } else {
                    let faster = turn * turn * error * before.period / passed;
                    let (least, most) = (1.0 - FARTHEST_RATE, 1.0 + FARTHEST_RATE);
                    let period =
                        (before.period + faster).clamp(self.nominal * least, self.nominal * most);
                    Reading { frame, micros: expected + SQRT_2 * turn * error, period }
                }
            }
            _ => {
                (self.begun, self.reports) = (micros, 1);
                Reading { frame, micros, period: self.nominal }
            }
        };
        self.reading = Some(reading);
        reading
    }
}

/// What is known of the output, from the thread that fills it to whoever asks, without a lock:
/// a sequence lock, whose one writer never waits.
#[derive(Debug, Default)]
pub(super) struct Board {
    /// Odd while it is written.
    turn: AtomicU64,
    fields: [AtomicU64; 6],
}

/// What stands on the board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    /// How frames and moments belong together.
    pub(super) reading: Reading,
    /// The frame that is filled next.
    pub(super) next: u64,
    /// How many frames were filled last.
    pub(super) block: u64,
    /// How long after it is filled a frame is heard, in microseconds.
    pub(super) latency: u64,
}

impl Board {
    /// Only one thread may write.
    pub(super) fn write(&self, state: &State) {
        let turn = self.turn.load(Ordering::Relaxed);
        self.turn.store(turn.wrapping_add(1), Ordering::Relaxed);
        fence(Ordering::Release);
        let State { reading, next, block, latency } = *state;
        let Reading { frame, micros, period } = reading;
        let values = [frame, micros.to_bits(), period.to_bits(), next, block, latency];
        for (field, value) in self.fields.iter().zip(values) {
            field.store(value, Ordering::Relaxed);
        }
        self.turn.store(turn.wrapping_add(2), Ordering::Release);
    }

    /// How often it was written.
    pub(super) fn written(&self) -> u64 {
        self.turn.load(Ordering::Acquire) / 2
    }

    /// What stands there; nothing before the first writing.
    pub(super) fn read(&self) -> Option<State> {
        loop {
            let before = self.turn.load(Ordering::Acquire);
            if before == 0 {
                return None;
            }
            let value = |field: &AtomicU64| field.load(Ordering::Relaxed);
            let [frame, micros, period, next, block, latency] = self.fields.each_ref().map(value);
            fence(Ordering::Acquire);
            if before.is_multiple_of(2) && self.turn.load(Ordering::Relaxed) == before {
                let (micros, period) = (f64::from_bits(micros), f64::from_bits(period));
                let reading = Reading { frame, micros, period };
                return Some(State { reading, next, block, latency });
            }
            std::hint::spin_loop();
        }
    }
}
