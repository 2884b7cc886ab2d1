//! The least share of a lapse that passes, whoever judges: see [`crate::lab::best`].

use evenhand_core::player::{ACCENT, Skill};

use super::case::Case;
use super::extent::Extent;
use super::lapse::Lapse;
use super::studies::Study;
use crate::lab::best::scatter_passed_at_least;
use crate::lab::levels::{accents_passed_at_least, levels, whole_accent};
use crate::lab::onsets::Onsets;
use crate::paths::Lateness;

/// The bound of a case; nothing where every such fault can be told.
pub fn bound(case: &Case, studies: &[Study], lateness: Lateness) -> f64 {
    let Some(lapse) = case.lapse else { return 0.0 };
    let (piece, tolerances) = (case.piece(studies), case.tolerances());
    let onsets = Onsets::of(&piece);
    let late = lateness == Lateness::TwoPeriods;
    let extent = case.extent;
    let shapes = |size: f64| shapes(lapse, &onsets, size);
    let told = |limit: f64, full: f64| {
        onsets.values(Skill::SKILLED, late).passed_at_least(&shapes(limit / 2.0), &shapes(full))
    };
    match lapse {
        Lapse::LateNote | Lapse::EarlyNote => {
            let limit = tolerances.single_note.at(piece.interval());
            told(limit.as_micros().into(), extent.time(limit).as_micros().into())
        }
        Lapse::SlowingDown
        | Lapse::SpeedingUp
        | Lapse::SecondHalfFaster
        | Lapse::SecondHalfSlower => {
            let limit = tolerances.drift_per_mille;
            told(f64::from(limit) / 1_000.0, f64::from(extent.share(limit)) / 1_000.0)
        }
        Lapse::Scatter => {
            // Who scatters so much has no clock worth the name, and a pickup's latency is little
            // beside it.
            let degrees = onsets.values(Skill::SKILLED, late).degrees();
            scatter_passed_at_least(times(extent), degrees)
        }
        Lapse::Uneven => scatter_passed_at_least(times(extent), levels(&piece).degrees()),
        Lapse::NoAccents => {
            let may = f64::from(ACCENT.above(tolerances.accent_above).hundredths());
            accents_passed_at_least(&piece, may / 2.0, whole_accent(), 1)
        }
        _ => 0.0,
    }
}

/// How many times half of the tolerance an extent is.
fn times(extent: Extent) -> f64 {
    match extent {
        Extent::Times(times) => 2.0 * f64::from(times),
        _ => 6.0,
    }
}

/// What a lapse of a size does to the onsets, at every place and either way.
fn shapes(lapse: Lapse, onsets: &Onsets, size: f64) -> Vec<Vec<f64>> {
    let one_way = match lapse {
        Lapse::LateNote | Lapse::EarlyNote => onsets.one_off(size),
        Lapse::SlowingDown | Lapse::SpeedingUp => vec![onsets.drift(size)],
        _ => onsets.from_there_on(size),
    };
    let other = one_way.iter().map(|shape| shape.iter().map(|x| -x).collect());
    let other: Vec<Vec<f64>> = other.collect();
    [one_way, other].concat()
}
