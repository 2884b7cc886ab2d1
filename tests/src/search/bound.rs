//! The least share of a lapse that passes, whoever judges: see [`crate::lab::best`].

use evenhand_core::player::{ACCENT, Skill};
use evenhand_core::study::{Attack, Marks};
use evenhand_core::tolerance::Tolerances;

use super::case::Case;
use super::extent::Extent;
use super::lapse::Lapse;
use super::studies::Study;
use crate::lab::best::{Values, scatter_passed_at_least, shift_passed_at_least};
use crate::lab::onsets::Onsets;
use crate::lab::piece::Piece;
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
        Lapse::Uneven => scatter_passed_at_least(times(extent), loudness(&piece).degrees()),
        Lapse::NoAccents => no_accents(&piece, &tolerances),
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

/// Levels of plucked and slurred notes, each of their own mean.
fn loudness(piece: &Piece) -> Values {
    let end = piece.events().last().map_or(0, |event| event.end);
    let notes = &piece.notes[..end];
    let compared: Vec<_> = notes.iter().filter(|note| !note.marks.has(Marks::ACCENT)).collect();
    let of = |attack: Attack| -> Vec<f64> {
        compared.iter().map(|note| f64::from(u8::from(note.attack == attack))).collect()
    };
    let nuisance = [of(Attack::Plucked), of(Attack::Slurred)];
    let nuisance = nuisance.into_iter().filter(|vector| vector.contains(&1.0)).collect();
    let size = compared.len();
    let row = |i| (0..size).map(|j| f64::from(u8::from(i == j))).collect();
    Values { covariance: (0..size).map(row).collect(), nuisance }
}

/// Accents at the level of the other notes, against accents that lack half of what they may.
fn no_accents(piece: &Piece, tolerances: &Tolerances) -> f64 {
    let plucked = piece.notes.iter().filter(|note| note.attack == Attack::Plucked);
    let accents = plucked.clone().filter(|note| note.marks.has(Marks::ACCENT)).count() as f64;
    let others = plucked.count() as f64 - accents;
    let lack = f64::from(ACCENT.above(tolerances.accent_above).hundredths());
    let apart = f64::from(ACCENT.hundredths()) - lack / 2.0;
    let one = f64::from(Skill::SKILLED.loudness.hundredths());
    shift_passed_at_least(apart / (one * (1.0 / accents + 1.0 / others).sqrt()))
}
