//! How long notes sounded: held notes, staccato, gaps.

use super::findings::{Findings, share};
use crate::align::Material;
use crate::measure::holding::{Held, held};
use crate::measure::length::lengths;
use crate::tolerance::Tolerances;
use crate::verdict::{Kind, Severity, Size};

#[inline(never)]
pub(super) fn sounding(
    material: Material<'_>,
    tolerances: &Tolerances,
    pace: u32,
    findings: &mut Findings,
) {
    holding(material, tolerances, pace, findings);
    let lengths = lengths(material, pace, tolerances.staccato_per_mille);
    if let Some((note, longest)) = lengths.longest.filter(|_| lengths.long > 0) {
        let (size, limit) = (per_mille(longest), per_mille(tolerances.staccato_per_mille));
        findings.over(Kind::LongStaccato, note, lengths.long, size, limit);
    }
    if let Some(gap) = lengths.gap_per_mille
        && gap > tolerances.gap_per_mille
    {
        let (size, limit) = (per_mille(gap), per_mille(tolerances.gap_per_mille));
        let weight = share(size, limit);
        let note = lengths.widest_gap;
        findings.add(Kind::Gaps, Severity::Advice, note, 1, size, limit, weight);
    }
}

/// The shortest of the held notes that were let go, and of those that may have died away.
fn holding(material: Material<'_>, tolerances: &Tolerances, pace: u32, findings: &mut Findings) {
    let least = tolerances.held_per_mille;
    let mut worst: [Option<(Held, u16)>; 2] = [None, None];
    for note in held(material, pace).filter(|note| note.per_mille < least) {
        let [let_go, died_away] = &mut worst;
        let slot = if note.may_have_died_away { died_away } else { let_go };
        let (so_far, count) = slot.unwrap_or((note, 0));
        let shorter = note.per_mille < so_far.per_mille;
        *slot = Some((if shorter { note } else { so_far }, count + 1));
    }
    let limit = per_mille(least);
    let [let_go, died_away] = worst;
    if let Some((note, count)) = let_go {
        findings.under(Kind::HeldNotes, note.note, count, per_mille(note.per_mille), limit);
    } else if let Some((note, _)) = died_away {
        let size = per_mille(note.per_mille);
        findings.unsettled(Kind::HeldNotes, Some(note.note), size, limit);
    }
}

fn per_mille(share: u16) -> Size {
    Size::PerMille(share.min(30_000) as i16)
}
