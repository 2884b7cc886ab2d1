//! Trills.

use super::findings::Findings;
use crate::align::Material;
use crate::measure::statistics::{Compared, compare_deviation, more_attempts};
use crate::measure::trill::{FEWEST_NOTES, trills};
use crate::tolerance::Tolerances;
use crate::verdict::{Bearing, Kind, Size};

#[inline(never)]
pub(super) fn trill(material: Material<'_>, tolerances: &Tolerances, findings: &mut Findings) {
    for trill in trills(material) {
        if trill.notes < FEWEST_NOTES {
            let (size, limit) = (Size::Notes(trill.notes), Size::Notes(FEWEST_NOTES));
            findings.add(Kind::ShortTrill, Bearing::Fails, Some(trill.note), 1, size, limit, 2_000);
        } else if let Some((unevenness, degrees)) = trill.unevenness {
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
    }
}
