//! What one attempt adds to what several say together.

use super::rules::clean_drift_error;
use super::{Outcome, Verdict};
use crate::arithmetic::product;
use crate::measure::Material;
use crate::measure::evenness::evenness;
use crate::measure::order::order;
use crate::measure::slurs::{Slurs, slurs};
use crate::measure::statistics::deviation;
use crate::measure::timing::Timing;
use crate::units::Level;

/// A standard deviation, as it adds up.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spread {
    pub(super) squares: u64,
    pub(super) degrees: u32,
}

impl Spread {
    pub(super) fn of(deviation: u32, degrees: u32) -> Self {
        let squares = product(u64::from(deviation).pow(2), degrees.into());
        Self { squares, degrees }
    }

    pub(super) fn deviation(&self) -> Option<i32> {
        deviation(self.squares, self.degrees)
    }
}

/// What one attempt adds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Evidence {
    /// Microseconds a quarter.
    pub(super) pace: u32,
    /// In microseconds.
    pub(super) steadiness: Spread,
    /// In hundredths of a decibel.
    pub(super) loudness: Spread,
    /// In per mille: the drift, its standard error, and that of a clean player.
    pub(super) drift: Option<(i32, u32, u32)>,
    /// A pause would explain the onsets as well as the drift does.
    pub(super) maybe_a_pause: bool,
    pub(super) slurs: Option<Slurs>,
    /// What the onsets may scatter, in microseconds.
    pub(super) may_scatter: i32,
    /// What the tempo may drift, in per mille, and the loudness scatter.
    pub(super) may_drift: u16,
    pub(super) may_vary: Level,
    /// What was said of the attempt.
    pub(super) needs_work: bool,
}

impl Evidence {
    // Not inlined: what is measured leaves the stack when it has been added up.
    #[inline(never)]
    pub(super) fn of(material: Material<'_>, verdict: &Verdict) -> Option<Self> {
        let tolerances = material.chunk.tolerances();
        let mut timing = Timing::unknown();
        timing.measure(material, &order(material), tolerances.single_note, None);
        let pace = timing.tempo.as_ref()?.pace;
        let steadiness = timing.steadiness.map_or_else(Spread::default, |measured| {
            Spread::of(measured.deviation.as_micros().unsigned_abs(), measured.degrees)
        });
        let loudness = evenness(material, tolerances.single_level).deviation;
        let loudness = loudness.map_or_else(Spread::default, |(level, degrees)| {
            Spread::of(level.hundredths().unsigned_abs().into(), degrees)
        });
        let drift = timing.drift_per_mille;
        let drift =
            drift.map(|drift| (drift, timing.drift_error, clean_drift_error(tolerances, &timing)));
        let slurs = slurs(material, tolerances.slur_below);
        let may_scatter = tolerances.unsteadiness.at(timing.interval).as_micros();
        let needs_work = verdict.outcome == Outcome::NeedsWork;
        let maybe_a_pause = timing.maybe_a_pause;
        Some(Self {
            pace,
            steadiness,
            loudness,
            drift,
            maybe_a_pause,
            slurs,
            may_scatter,
            may_drift: tolerances.drift_per_mille,
            may_vary: tolerances.unevenness,
            needs_work,
        })
    }
}
