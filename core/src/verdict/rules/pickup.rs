//! What rests on a string whose notes, or whose loudness, the pickup itself scatters.

use super::findings::Findings;
use crate::align::Material;
use crate::measure::statistics::range_90;
use crate::units::{GuitarString, Level, Offset};
use crate::verdict::{Finding, Kind};

/// What is said of when notes came.
const TIME: [Kind; 11] = [
    Kind::Unsteady,
    Kind::OffBeat,
    Kind::Hesitation,
    Kind::HesitationAtShift,
    Kind::Drift,
    Kind::OffPace,
    Kind::OnsetOffClick,
    Kind::TempoOffClick,
    Kind::LandingTime,
    Kind::SpreadLanding,
    Kind::SpreadChords,
];

/// What is said of how loud notes came.
const LOUDNESS: [Kind; 5] =
    [Kind::Uneven, Kind::LoudNotes, Kind::SoftNotes, Kind::WeakSlurs, Kind::WeakAccents];

/// What is said of all notes rests on such strings if one note in so many is on them. Our default.
const SHARE: usize = 4;

/// Where a string scatters by more than `may_scatter` by itself, what fails in time because of its notes
/// may be the pickup: it is unsettled. What is within its limit is so whatever scatters.
#[inline(never)]
pub(super) fn rests_on_it(material: Material<'_>, may_scatter: Offset, findings: &mut Findings) {
    let habits = &material.pickup.habits;
    if !habits.knows_strings() {
        return;
    }
    // A chord of four stays within its limit in nine cases of ten if its notes scatter so much.
    let spread = i64::from(material.chunk.tolerances().chord_spread.as_micros());
    let in_a_chord = Offset::from_micros((spread * 100 / i64::from(range_90(4, 1).max(1))) as i32);
    let is_on_it = |index: usize, may_scatter: Offset| {
        let late = habits.late(string_of(material, index));
        late.is_some_and(|late| late.spread() > may_scatter)
    };
    let is_all = is_all(material, |index| is_on_it(index, may_scatter));
    let event_of = |note: usize| {
        let onset = material.chunk.notes().get(note).map(|note| note.onset);
        let notes = material.chunk.notes().iter().enumerate();
        notes.filter(move |(_, note)| Some(note.onset) == onset).map(|(index, _)| index)
    };
    findings.leave_to_the_pickup(|finding: &Finding| {
        let may = match finding.kind {
            Kind::SpreadChords | Kind::SpreadLanding => in_a_chord,
            _ => may_scatter,
        };
        let hangs = match finding.note {
            Some(note) if finding.kind != Kind::OffPace => {
                let here = event_of(note.into()).any(|index| is_on_it(index, may));
                // Time that passed before a note is counted from the one before it.
                let is_time = matches!(finding.kind, Kind::Hesitation | Kind::HesitationAtShift);
                let before = event_of(note.into()).next().and_then(|first| first.checked_sub(1));
                let before = before.filter(|_| is_time);
                here || before.is_some_and(|note| event_of(note).any(|index| is_on_it(index, may)))
            }
            _ => is_all,
        };
        TIME.contains(&finding.kind) && hangs
    });
}

/// Where a string's levels scatter by themselves by more than plucked notes `may`, what fails in loudness
/// because of its notes may be the pickup: it is unsettled.
#[inline(never)]
pub(super) fn loudness_rests_on_it(material: Material<'_>, may: Level, findings: &mut Findings) {
    let is_on_it =
        |index: usize| material.pickup.scatter_of_levels(string_of(material, index)) > may;
    let is_all = is_all(material, is_on_it);
    findings.leave_to_the_pickup(|finding: &Finding| {
        let hangs = finding.note.map_or(is_all, |note| is_on_it(note.into()));
        LOUDNESS.contains(&finding.kind) && hangs
    });
}

/// Where an expected note was played, or else where it is to be.
fn string_of(material: Material<'_>, index: usize) -> Option<GuitarString> {
    let own = material.right(index).and_then(|note| note.string);
    own.or_else(|| material.chunk.notes().get(index)?.string)
}

/// Whether so many of the right notes are on such strings that what is said of all rests on them.
fn is_all(material: Material<'_>, is_on_it: impl Fn(usize) -> bool) -> bool {
    let right = || material.right_notes().map(|(index, ..)| index);
    let on_it = right().filter(|&index| is_on_it(index)).count();
    on_it > 0 && on_it * SHARE >= right().count()
}
