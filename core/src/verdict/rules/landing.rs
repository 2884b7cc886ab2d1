//! The landing: when it came, and whether its chord spoke together.

use super::chance::{doubt_of_one, doubt_of_two};
use super::findings::Findings;
use super::scatter::scatter;
use crate::align::Material;
use crate::measure::landing::{Landing, time_lost};
use crate::measure::timing::Timing;
use crate::tolerance::Tolerances;
use crate::verdict::{Kind, Size};

/// The landing was asked for, and nothing came: what the attempt says is not the whole.
pub(super) fn not_played(note: usize, notes: u16, findings: &mut Findings) {
    let size = Size::Notes(notes);
    findings.unsettled(Kind::LandingNotPlayed, Some(note), size, Size::Notes(0));
}

pub(super) fn time(
    material: Material<'_>,
    landing: &Landing,
    timing: &Timing,
    tolerances: &Tolerances,
    findings: &mut Findings,
) {
    let Some((lost, interval)) = time_lost(material, landing, timing) else { return };
    let limit = tolerances.hesitation.at(interval);
    if lost.size() > limit {
        let (kind, sizes) = (Kind::LandingTime, (Size::Time(lost), Size::Time(limit)));
        findings.single(kind, landing.note, 1, sizes, doubt_of_one(scatter(timing)));
    }
}

pub(super) fn spread(landing: &Landing, scatter: u32, findings: &mut Findings) {
    let limit = landing.may_spread;
    if let Some(spread) = landing.spread.filter(|&spread| spread > limit) {
        let (kind, sizes) = (Kind::SpreadLanding, (Size::Time(spread), Size::Time(limit)));
        findings.single(kind, landing.note, 1, sizes, doubt_of_two(scatter));
    }
}
