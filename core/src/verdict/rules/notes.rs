//! Right notes in the right order.

use super::findings::Findings;
use crate::align::Material;
use crate::measure::landing::Landing;
use crate::measure::order::Order;
use crate::measure::slips::Slips;
use crate::study::Marks;
use crate::tolerance::Tolerances;
use crate::units::Ticks;
use crate::verdict::{Kind, SettledBy, Severity, Size};

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
        findings.add(kind, Severity::Advice, note, count, size, limit, weight);
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
    // Nothing of the landing was right: no slip on the way, but no arrival.
    let missed = landing.is_some_and(|landing| landing.is_altogether_wrong);
    let landing = landing.map_or((0, None), |landing| landing.slips);
    let made = slips.wrong.0 + slips.missing.0 + slips.extra.0 + order.swapped + landing.0;
    let severity = if made > allowed { Severity::Fails } else { Severity::Advice };
    let kinds = [
        (Kind::WrongNotes, slips.wrong.0, slips.wrong.1),
        (Kind::MissingNotes, slips.missing.0, slips.missing.1),
        (Kind::SwappedNotes, order.swapped, order.first),
        (Kind::ExtraNotes, slips.extra.0, slips.extra.1),
        (Kind::LandingNotes, landing.0, landing.1),
    ];
    for (kind, count, note) in kinds {
        let severity =
            if kind == Kind::LandingNotes && missed { Severity::Fails } else { severity };
        if count > 0 {
            let weight = WEIGHT_OF_NOTES + 500 * (u32::from(count) - 1);
            findings.add(
                kind,
                severity,
                note,
                count,
                Size::Notes(count),
                Size::Notes(allowed),
                weight,
            );
        }
    }
    let open = [
        (Kind::NotesNotHeard, slips.unheard.0, slips.unheard.1),
        (Kind::NotesInDoubt, slips.doubtful.0, slips.doubtful.1),
    ];
    // What would be allowed if it were a slip is allowed.
    let is_open = made + slips.unheard.0 + slips.doubtful.0 > allowed;
    for (kind, count, note) in open.into_iter().filter(|(_, count, _)| *count > 0) {
        let (severity, settled_by) = match is_open {
            true => (Severity::Unsettled, SettledBy::AnotherAttempt),
            false => (Severity::Advice, SettledBy::Nothing),
        };
        findings.open_notes(kind, (severity, settled_by), note, count, allowed);
    }
    if severity == Severity::Advice {
        cut_short(material, slips, findings);
    }
    if slips.pickup > 0 {
        let size = Size::Notes(slips.pickup);
        findings.add(Kind::PickupErrors, Severity::Advice, None, slips.pickup, size, size, 100);
    }
}

/// Where slips are allowed, those at either end are not: whether the chunk was played from its
/// beginning and to its end is not known.
fn cut_short(material: Material<'_>, slips: &Slips, findings: &mut Findings) {
    let notes = material.chunk.notes();
    let proper = || notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
    let count = |onset: Option<Ticks>| proper().filter(|note| Some(note.onset) == onset).count();
    let (first, last) = (proper().next(), proper().next_back());
    let (begins, ends) = (count(first.map(|n| n.onset)), count(last.map(|n| n.onset)));
    let left_out = usize::from(slips.missing_at_the_beginning);
    if begins > 0 && left_out >= begins {
        let size = Size::Notes(slips.missing_at_the_beginning);
        findings.unsettled(Kind::BegunMidway, Some(left_out), size, Size::Notes(0));
    }
    let left_out = usize::from(slips.missing_at_the_end);
    if ends > 0 && left_out >= ends {
        let first = proper().count().saturating_sub(left_out);
        let size = Size::Notes(slips.missing_at_the_end);
        findings.unsettled(Kind::BrokenOff, Some(first), size, Size::Notes(0));
    }
}
