//! What is told of each take of a session.

use std::ops::RangeInclusive;

use evenhand::listening::Finished;
use evenhand_core::align::{Material, Origin};
use evenhand_core::verdict::{Finding, Kind, Outcome, Severity};

use super::causes::{Cause, causes};
use super::hearing::hear;
use super::session::Session;
use super::slip::is_of_notes;
use super::stream::{Source, stream};
use crate::lab::live::kindness;

/// The finding that names the pickup as what makes the attempt unclear, by its name in event
/// streams. While no kind has that name, it is never told.
pub const PICKUP_NAMED: &str = "poor-hearing";

/// What is told of a take.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// The verdict; none if no attempt came out. Of several the kindest counts: one that passes is
    /// one too many.
    pub outcome: Option<Outcome>,
    /// How many attempts came out.
    pub attempts: usize,
    /// Whether a slip is told that fails, wherever it is.
    pub any_slip: bool,
    /// Whether one is told at the slip's place or at a neighbouring event.
    pub at_place: bool,
    /// Whether that is of the slip's kind.
    pub of_kind: bool,
    /// Whether the pickup is named.
    pub pickup: bool,
    /// What failed, with what the converter did there, where that is easily said.
    pub causes: Vec<Cause>,
}

/// What is told of each take of a session.
pub fn told(session: &Session, source: Source) -> Vec<Told> {
    let stream = stream(session, source);
    let mut told = vec![Told::default(); session.takes.len()];
    let is_poor = hear(session, &stream, |take, finished| {
        let Some(told) = take.and_then(|take| told.get_mut(take)) else { return };
        told.hear(session, finished);
        let fails = finished.verdict.outcome == Outcome::NeedsWork;
        if fails && told.causes.is_empty() {
            told.causes = causes(finished, &stream);
        }
    });
    // It is told once, and stands for the session.
    if let Some(first) = told.first_mut() {
        first.pickup |= is_poor;
    }
    told
}

impl Told {
    fn hear(&mut self, session: &Session, finished: &Finished<'_>) {
        let outcome = finished.verdict.outcome;
        if self.outcome.is_none_or(|before| kindness(outcome) > kindness(before)) {
            self.outcome = Some(outcome);
        }
        self.attempts += 1;
        let findings = &finished.verdict.findings;
        self.pickup |= findings.iter().any(|finding| finding.kind.name() == PICKUP_NAMED);
        for finding in findings.iter().filter(|finding| finding.severity == Severity::Fails) {
            if !is_of_notes(finding.kind) {
                continue;
            }
            self.any_slip = true;
            let at_place = session.places.iter().any(|place| {
                finished.material(|material| tells(finding, material, &near(material, *place)))
            });
            self.at_place |= at_place;
            self.of_kind |= at_place && session.slip.fits(finding.kind);
        }
    }
}

/// The notes of the event of this note, and of its neighbours.
fn near(material: Material<'_>, place: usize) -> RangeInclusive<usize> {
    let events: Vec<_> = material.events().collect();
    let at = events.iter().position(|event| event.contains(&place)).unwrap_or(0);
    let last = events.len().saturating_sub(1);
    let (before, after) = (at.saturating_sub(1), (at + 1).min(last));
    match (events.get(before), events.get(after)) {
        (Some(before), Some(after)) => before.start..=after.end.saturating_sub(1),
        _ => place..=place,
    }
}

/// Whether a finding is told at one of these notes: by itself, or, since it names only the first of
/// several, by the marks that stand in the tablature under it.
fn tells(finding: &Finding, material: Material<'_>, near: &RangeInclusive<usize>) -> bool {
    if finding.note.is_some_and(|note| near.contains(&usize::from(note))) {
        return true;
    }
    if finding.count < 2 {
        return false;
    }
    let mut near_by = near.clone();
    match finding.kind {
        Kind::WrongNotes => near_by.any(|note| {
            material.class(note).is_some_and(|c| !c.is_right() && c.origin() == Origin::Slip)
        }),
        Kind::MissingNotes => near_by.any(|note| material.pairing.played(note).is_none()),
        Kind::ExtraNotes => {
            let slips = material.extras().filter(|(_, class)| class.origin() == Origin::Slip);
            let mut after = slips.map(|(by, _)| last_before(material, by));
            after.any(|note| note.is_some_and(|note| near.contains(&note)))
        }
        _ => false,
    }
}

/// The expected note that was played last before a played one.
fn last_before(material: Material<'_>, by: usize) -> Option<usize> {
    use evenhand_core::align::Role;
    (0..by).rev().find_map(|by| match material.pairing.role(by) {
        Role::Note(note) => Some(note),
        Role::Trill(_) | Role::Extra => None,
    })
}
