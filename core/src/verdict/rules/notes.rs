//! Right notes in the right order.

use super::findings::Findings;
use crate::align::Material;
use crate::measure::landing::Landing;
use crate::measure::order::Order;
use crate::measure::slips::Slips;
use crate::tolerance::Tolerances;
use crate::verdict::{Bearing, Kind, Size};

/// Notes weigh more than how they were played: a wrong note counts as much as something four
/// times its limit. Our default.
const WEIGHT_OF_NOTES: u32 = 4_000;

/// Slips as advice, where the attempt itself is not judged.
#[inline(never)]
pub(super) fn heard(slips: &Slips, findings: &mut Findings) {
    let kinds = [
        (Kind::WrongNotes, slips.wrong),
        (Kind::MissingNotes, slips.missing),
        (Kind::ExtraNotes, slips.extra),
    ];
    for (kind, (count, note)) in kinds.into_iter().filter(|(_, (count, _))| *count > 0) {
        let weight = WEIGHT_OF_NOTES + 500 * (u32::from(count) - 1);
        let (size, limit) = (Size::Notes(count), Size::Notes(0));
        findings.add(kind, Bearing::Advice, note, count, size, limit, weight);
    }
}

#[inline(never)]
pub(super) fn notes(
    material: Material<'_>,
    tolerances: &Tolerances,
    slips: &Slips,
    order: &Order,
    landing: Option<&Landing>,
    findings: &mut Findings,
) {
    let expected = material.chunk.notes().len() as u16;
    let allowed = match tolerances.notes_a_slip {
        0 => 0,
        one_in => expected / one_in,
    };
    let landing = landing.map_or((0, None), |landing| landing.slips);
    let made = slips.wrong.0 + slips.missing.0 + slips.extra.0 + order.swapped + landing.0;
    let bearing = if made > allowed { Bearing::Fails } else { Bearing::Advice };
    let kinds = [
        (Kind::WrongNotes, slips.wrong.0, slips.wrong.1),
        (Kind::MissingNotes, slips.missing.0, slips.missing.1),
        (Kind::SwappedNotes, order.swapped, order.first),
        (Kind::ExtraNotes, slips.extra.0, slips.extra.1),
        (Kind::LandingNotes, landing.0, landing.1),
    ];
    for (kind, count, note) in kinds {
        if count > 0 {
            let weight = WEIGHT_OF_NOTES + 500 * (u32::from(count) - 1);
            findings.add(
                kind,
                bearing,
                note,
                count,
                Size::Notes(count),
                Size::Notes(allowed),
                weight,
            );
        }
    }
    if slips.pickup > 0 {
        let size = Size::Notes(slips.pickup);
        findings.add(Kind::PickupErrors, Bearing::Advice, None, slips.pickup, size, size, 100);
    }
}
