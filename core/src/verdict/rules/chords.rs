//! Chords that speak together.

use super::chance::doubt_of_two;
use super::findings::Findings;
use crate::align::Material;
use crate::measure::NoteSet;
use crate::measure::lateness;
use crate::measure::order::Order;
use crate::measure::togetherness::{Togetherness, togetherness};
use crate::pickup::Pickup;
use crate::tolerance::Tolerances;
use crate::units::Offset;
use crate::verdict::{Kind, Size};

#[inline(never)]
pub(super) fn chords(
    material: Material<'_>,
    tolerances: &Tolerances,
    order: &Order,
    scatter: u32,
    findings: &mut Findings,
) {
    let swapped = order.told(tolerances);
    let measured = togetherness(material, &swapped, tolerances.chord_spread);
    let Some((note, spread, limit)) = measured.widest.filter(|_| measured.spread > 0) else {
        return;
    };
    let sizes = (Size::Time(spread), Size::Time(limit));
    if may_be_the_pickup(material, &swapped, tolerances.chord_spread) {
        findings.by_the_pickup(Kind::SpreadChords, note, measured.spread, sizes);
        return;
    }
    // What is over the limit of a single chord by more than chance fails, however many there are.
    let doubt = doubt_of_two(scatter).min(tolerances.chord_spread.as_micros().unsigned_abs() / 2);
    let single = limit.as_micros().saturating_sub(tolerances.chord_spread.as_micros());
    let doubt = doubt.saturating_sub(single.unsigned_abs());
    findings.single(Kind::SpreadChords, note, measured.spread, sizes, doubt);
}

/// Whether chords that spread would speak together if the pickup were late by string in a way that
/// it may be, and that nothing else has told against: then it is open whether it was the hand.
#[inline(never)]
fn may_be_the_pickup(material: Material<'_>, swapped: &NoteSet, limit: Offset) -> bool {
    let habits = &material.pickup.habits;
    let Some(supposed) = habits.suppose(&lateness::of_chords(material)) else { return false };
    let pickup = Pickup { habits: supposed, ..*material.pickup };
    let supposed = Material { pickup: &pickup, ..material };
    let measured: Togetherness = togetherness(supposed, swapped, limit);
    measured.spread == 0
}
