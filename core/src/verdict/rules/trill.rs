//! Trills.

use super::findings::Findings;
use crate::align::Material;
use crate::classify::{Rates, may_be_the_pickups};
use crate::measure::statistics::{Compared, compare_deviation, more_attempts};
use crate::measure::trill::{FEWEST_NOTES, Trill, trills};
use crate::tolerance::Tolerances;
use crate::verdict::{Kind, Severity, Size};

#[inline(never)]
pub(super) fn trill(
    material: Material<'_>,
    tolerances: &Tolerances,
    pace: Option<u32>,
    findings: &mut Findings,
) {
    for trill in trills(material, pace) {
        if trill.notes < FEWEST_NOTES {
            let (size, limit) = (Size::Notes(trill.notes), Size::Notes(FEWEST_NOTES));
            findings.add(
                Kind::ShortTrill,
                Severity::Fails,
                Some(trill.note),
                1,
                size,
                limit,
                2_000,
            );
            continue;
        }
        evenness(&trill, tolerances, findings);
        repeats(material, &trill, tolerances, findings);
        let least = tolerances.trill_cover_per_mille;
        if let Some(cover) = trill.cover_per_mille.filter(|&cover| cover < least) {
            let per_mille = |share: u16| Size::PerMille(share.min(30_000) as i16);
            let (size, limit) = (per_mille(cover), per_mille(least));
            findings.under(Kind::TrillStopsEarly, trill.note, 1, size, limit);
        }
    }
}

fn evenness(trill: &Trill, tolerances: &Tolerances, findings: &mut Findings) {
    let Some((unevenness, degrees)) = trill.unevenness else { return };
    let size = Size::PerMille(unevenness.min(30_000) as i16);
    let limit = Size::PerMille(tolerances.trill_unevenness_per_mille.min(30_000) as i16);
    let (measured, allowed) = (size.magnitude() as i32, limit.magnitude() as i32);
    match compare_deviation(measured, degrees, allowed) {
        Compared::Within => {}
        Compared::TooCloseToCall => {
            let more = more_attempts(measured, degrees, allowed);
            findings.close(Kind::UnevenTrill, Some(trill.note), size, limit, more);
        }
        Compared::Over => findings.over(Kind::UnevenTrill, trill.note, 1, size, limit),
    }
}

/// A note struck twice in a trill is a slip like others: as many are allowed. It is open where the converter may
/// have lost the note between, or sent a string's last pitch for it: a finger that fails to sound a slur sounds
/// nothing.
fn repeats(
    material: Material<'_>,
    trill: &Trill,
    tolerances: &Tolerances,
    findings: &mut Findings,
) {
    let allowed = trill.notes.checked_div(tolerances.notes_a_slip).unwrap_or(0);
    if trill.repeats <= allowed {
        return;
    }
    let (size, limit) = (Size::Notes(trill.repeats), Size::Notes(allowed));
    let may_be = may_be_the_pickups(material, &Rates::of(material), trill.note, trill.notes);
    if trill.repeats <= allowed.saturating_add(may_be) {
        findings.unsettled(Kind::TrillRepeats, Some(trill.note), size, limit);
    } else {
        findings.over(Kind::TrillRepeats, trill.note, trill.repeats, size, limit);
    }
}
