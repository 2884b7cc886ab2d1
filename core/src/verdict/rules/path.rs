//! The strings that were used.

use super::findings::{Findings, share};
use crate::align::Material;
use crate::measure::path::path;
use crate::tolerance::Tolerances;
use crate::verdict::{Kind, Severity, Size};

/// Another path over the strings sounds the same, so it is worth knowing and no failure.
pub(super) fn other_strings(
    material: Material<'_>,
    tolerances: &Tolerances,
    findings: &mut Findings,
) {
    let path = path(material);
    let allowed = tolerances.other_strings_per_mille;
    if path.elsewhere_per_mille().is_some_and(|elsewhere| elsewhere > allowed) {
        let most = u32::from(path.known) * u32::from(allowed) / 1_000;
        let (size, limit) = (Size::Notes(path.elsewhere), Size::Notes(most as u16));
        let weight = share(size, Size::Notes(path.known));
        let count = path.elsewhere;
        findings.add(Kind::OtherStrings, Severity::Advice, path.first, count, size, limit, weight);
    }
}
