//! Chords that speak together.

use super::chance::doubt_of_two;
use super::findings::Findings;
use crate::align::Material;
use crate::measure::order::Order;
use crate::measure::togetherness::togetherness;
use crate::tolerance::Tolerances;
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
    if let Some((note, spread)) = measured.widest
        && measured.spread > 0
    {
        let limit = Size::Time(tolerances.chord_spread);
        let sizes = (Size::Time(spread), limit);
        findings.single(Kind::SpreadChords, note, measured.spread, sizes, doubt_of_two(scatter));
    }
}
