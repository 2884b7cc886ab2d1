//! What is over a limit and no rule has told: single onsets and intervals.
//!
//! The other rules say what is wrong for certain, and so leave out what they cannot blame on one
//! cause: several notes off at once, a pause in a chunk too short to tell it from a tempo. Passed
//! means that nothing was over its limit, so what they leave out makes the attempt unclear. Every
//! onset that a picture marks as over is told by this rule, if by no other.

use super::findings::Findings;
use crate::align::Material;
use crate::measure::onsets::OffBeat;
use crate::measure::timing::Timing;
use crate::study::Marks;
use crate::tolerance::Tolerances;
use crate::units::{Offset, lasting};
use crate::verdict::{Kind, Size};

/// What may be told of an onset.
const TOLD: [Kind; 9] = [
    Kind::Unsteady,
    Kind::OffBeat,
    Kind::Hesitation,
    Kind::HesitationAtShift,
    Kind::Drift,
    Kind::OffPace,
    Kind::OnsetOffClick,
    Kind::TempoOffClick,
    Kind::NoTimeHeard,
];

#[inline(never)]
pub(super) fn unexplained(
    material: Material<'_>,
    tolerances: &Tolerances,
    timing: &Timing,
    findings: &mut Findings,
) {
    if findings.tell_any(&TOLD) {
        return;
    }
    if let Some(off) = furthest_off(material, tolerances, timing) {
        let limit = Size::Time(tolerances.single_note.at(timing.interval));
        findings.unsettled(Kind::OffBeat, Some(off.note), Size::Time(off.by), limit);
    } else if let Some((off, limit)) = longest_interval(material, tolerances, timing) {
        let sizes = (Size::Time(off.by), Size::Time(limit));
        findings.unsettled(Kind::Hesitation, Some(off.note), sizes.0, sizes.1);
    }
}

fn is_landing(material: Material<'_>, note: u16) -> bool {
    let note = material.chunk.notes().get(usize::from(note));
    note.is_some_and(|note| note.marks.has(Marks::LANDING))
}

/// The onset furthest from the player's own tempo, if it is over the limit for one.
fn furthest_off(
    material: Material<'_>,
    tolerances: &Tolerances,
    timing: &Timing,
) -> Option<OffBeat> {
    let limit = tolerances.single_note.at(timing.interval).as_micros();
    let onsets = timing.points.iter().zip(&timing.residuals).enumerate();
    let over = onsets.filter(|(index, (point, residual))| {
        let may = !timing.vague.has(*index) && !is_landing(material, point.note);
        residual.saturating_abs() > limit && may
    });
    let (_, (point, residual)) = over.max_by_key(|(_, onset)| onset.1.saturating_abs())?;
    Some(OffBeat { note: usize::from(point.note), by: Offset::from_micros(*residual) })
}

/// The interval furthest from what it should be at the player's own tempo, if it is over the limit
/// for lost time, and that limit.
fn longest_interval(
    material: Material<'_>,
    tolerances: &Tolerances,
    timing: &Timing,
) -> Option<(OffBeat, Offset)> {
    let pace = timing.tempo.as_ref()?.pace;
    let intervals = timing.points.iter().zip(timing.points.iter().skip(1)).enumerate();
    let tells = |at: usize, note: u16| {
        let vague = timing.vague.has(at) || timing.vague.has(at + 1);
        !vague && !is_landing(material, note)
    };
    let intervals = intervals.filter(|(at, (_, after))| tells(*at, after.note));
    let excesses = intervals.map(|(_, (before, after))| {
        let written = lasting(after.written.since(before.written), pace);
        let took = after.played.as_micros().saturating_sub(before.played.as_micros());
        let limit = tolerances.hesitation.at(Offset::from_micros(written));
        let by = Offset::from_micros(took.saturating_sub(written));
        (OffBeat { note: usize::from(after.note), by }, limit)
    });
    excesses.filter(|(off, limit)| off.by.size() > *limit).max_by_key(|(off, _)| off.by.size())
}
