//! Whether the notes of a chord speak together.
//!
//! The spread of a chord is the time from its first to its last note, of those that were
//! played right, each when it was [struck](Material::struck_at); a chord needs two. A note that came
//! so late that the alignment calls it missing and extra is one of them, if it came within a second.
//! Notes that changed places with another are left out where that is told as a slip. Rolled chords are
//! exempt, and the [landing](super::landing) is a measure of its own. Unit: microseconds, never
//! negative. For orientation: chords of five real guitar takes (GuitarSet) spread over
//! 11.4 ms (median), 30.8 ms (95 %) and 51 ms (99 %).
//!
//! *The worst of many.* Sixteen chords are sixteen chances to be over a limit for one. Hands whose
//! single chord stays within the limit in nine cases of ten make a widest of n chords that stays, in
//! nine cases of ten, within the 0.9^(1/n) quantile of the range of as many normal values as the chord
//! has notes. So the limit for the widest is that quantile times the player's own scatter (of the
//! other chords' notes around their chords' means), if that is more; of scatter no more counts than
//! the limit for one chord allows, and where it is over that for certain (χ², as
//! [steadiness](super::timing) is compared), nothing.
//!
//! *Swept.* A hand plucks four strings at once, five with the little finger: chords of five notes
//! and more are swept, and every chord where the study says plectrum. A sweep whose notes come in
//! the order of their pitches, either way, may take three times the chord's limit. Our defaults.

use super::statistics::{Compared, compare_deviation, deviation, range_90};
use super::{Material, NoteSet};
use crate::align::Role;
use crate::attempt::PlayedNote;
use crate::limits::NOTES_TOGETHER;
use crate::study::Marks;
use crate::units::Offset;
use core::ops::Range;
use heapless::Vec;

/// How the chords spread.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Togetherness {
    /// How many chords were measured.
    pub chords: u16,
    /// How many spread over more than the limit for the widest of so many.
    pub spread: u16,
    /// The one that spreads furthest over its limit: its first expected note, its spread, and the
    /// limit for the widest of so many.
    pub widest: Option<(usize, Offset, Offset)>,
}

/// A note of its chord's own pitch that comes later than this is another note. Our default.
const LATEST: i32 = 1_000_000;

/// A chord of so many notes is swept.
const SWEPT: usize = 5;

/// So many times the limit of a chord a sweep may take: 120 ms at the level `steady`. Our default.
const SWEEP: i32 = 3;

/// Notes of a sweep that come in the wrong order by no more than this, in microseconds, came together:
/// listeners name the first of two onsets right in 75 % of cases at 22 ms (informal experiment of the
/// Mazurka project).
const OUT_OF_ORDER: i32 = 22_000;

/// One chord as it was played.
struct Played {
    /// When its notes were struck, in the order of their pitches.
    times: Vec<i32, NOTES_TOGETHER>,
    /// How many notes it is written with.
    is_sweep: bool,
}

impl Played {
    fn spread(&self) -> i32 {
        let ends = self.times.iter().max().zip(self.times.iter().min());
        ends.map_or(0, |(last, first)| last.saturating_sub(*first))
    }

    /// The sum of squares around its mean, in microseconds, and its degrees of freedom.
    fn squares(&self) -> (u64, u32) {
        let count = self.times.len() as i64;
        let sum: i64 = self.times.iter().map(|time| i64::from(*time)).sum();
        let mean = sum.checked_div(count).unwrap_or(0);
        let square = |time: &i32| i64::from(*time).abs_diff(mean).saturating_pow(2);
        (self.times.iter().map(square).fold(0, u64::saturating_add), (count - 1).max(0) as u32)
    }
}

/// Measures the chords; `limit` is how far a single one may spread. Notes in `swapped` are left out.
pub fn togetherness(material: Material<'_>, swapped: &NoteSet, limit: Offset) -> Togetherness {
    measure(material, swapped, limit, &mut |_| {})
}

/// The first expected notes of the chords that spread over more than the limit for the widest of so
/// many.
pub fn spread_chords(material: Material<'_>, swapped: &NoteSet, limit: Offset) -> NoteSet {
    let mut spread = NoteSet::NONE;
    measure(material, swapped, limit, &mut |first| spread.insert(first));
    spread
}

fn measure(
    material: Material<'_>,
    swapped: &NoteSet,
    limit: Offset,
    is_over: &mut dyn FnMut(usize),
) -> Togetherness {
    let limit = limit.as_micros();
    let (mut chords, mut blocks) = (0, 0);
    // Of block chords all squares, and the widest, whose own are no part of what it is compared with.
    let (mut squares, mut degrees) = (0_u64, 0_u32);
    let mut widest_block: Option<Played> = None;
    for (_, chord) in all(material, swapped) {
        chords += 1;
        if chord.is_sweep {
            continue;
        }
        blocks += 1;
        let (own, count) = chord.squares();
        (squares, degrees) = (squares.saturating_add(own), degrees + count);
        if widest_block.as_ref().is_none_or(|widest| chord.spread() > widest.spread()) {
            widest_block = Some(chord);
        }
    }
    let (own, count) = widest_block.map_or((0, 0), |widest| widest.squares());
    let others = (squares.saturating_sub(own), degrees.saturating_sub(count));
    let mut result = Togetherness { chords, ..Togetherness::default() };
    let mut furthest = 0;
    for (note, chord) in all(material, swapped) {
        let may = if chord.is_sweep {
            limit.saturating_mul(SWEEP)
        } else {
            of_the_widest(limit, chord.times.len(), blocks, others)
        };
        let spread = chord.spread();
        if spread > may {
            result.spread += 1;
            is_over(note);
        }
        let share = i64::from(spread) * 1_000 / i64::from(may.max(1));
        if result.widest.is_none() || share > furthest {
            furthest = share;
            let [spread, may] = [spread, may].map(Offset::from_micros);
            result.widest = Some((note, spread, may));
        }
    }
    result
}

/// How far the widest of `blocks` chords may spread, if it has `notes` notes and the others scatter so
/// much.
fn of_the_widest(limit: i32, notes: usize, blocks: u16, (squares, degrees): (u64, u32)) -> i32 {
    let Some(scatter) = deviation(squares, degrees) else { return limit };
    // What of scatter keeps one chord within its limit in nine cases of ten.
    let most = i64::from(limit) * 100 / i64::from(range_90(notes, 1).max(1));
    if compare_deviation(scatter, degrees, most as i32) == Compared::Over {
        return limit;
    }
    let scatter = i64::from(scatter).min(most);
    let chance = scatter * i64::from(range_90(notes, blocks.into())) / 100;
    limit.max(chance.min(i64::from(i32::MAX)) as i32)
}

/// Whether a hand sweeps this chord.
pub(crate) fn is_swept(material: Material<'_>, event: &Range<usize>) -> bool {
    let notes = material.chunk.notes().get(event.clone()).unwrap_or_default();
    notes.len() >= SWEPT
        || notes.len() >= 2 && notes.iter().any(|note| note.marks.has(Marks::SWEPT))
}

/// How far a single chord may spread: a sweep further than others.
pub(crate) fn limit(material: Material<'_>, event: &Range<usize>) -> Offset {
    let limit = material.chunk.tolerances().chord_spread;
    if is_swept(material, event) {
        Offset::from_micros(limit.as_micros().saturating_mul(SWEEP))
    } else {
        limit
    }
}

/// The chords that are to speak together, each with its first expected note.
fn all<'a>(
    material: Material<'a>,
    swapped: &'a NoteSet,
) -> impl Iterator<Item = (usize, Played)> + use<'a> {
    material.events().filter_map(move |event| {
        let first = event.start;
        Some((first, chord(material, event, swapped)?))
    })
}

/// How the chord of the expected notes `event` was played; `None` where it is none, or exempt.
fn chord(material: Material<'_>, event: Range<usize>, swapped: &NoteSet) -> Option<Played> {
    let notes = material.chunk.notes().get(event.clone())?;
    let exempt = |marks: Marks| marks.has(Marks::ROLLED) || marks.has(Marks::LANDING);
    if notes.iter().any(|wanted| exempt(wanted.marks)) {
        return None;
    }
    let mut times: Vec<i32, NOTES_TOGETHER> = Vec::new();
    for index in event.clone().filter(|&index| !swapped.has(index)) {
        if let Some(note) = material.right(index) {
            let _ = times.push(material.struck_at(index, note).as_micros());
        }
    }
    let is_sweep = is_swept(material, &event) && is_in_order(&times);
    let first = times.iter().min().copied().unwrap_or(i32::MAX);
    if !times.is_empty() && times.len() < event.len() {
        for at in event.filter_map(|index| late_note(material, index, first)) {
            let _ = times.push(at);
        }
    }
    (times.len() >= 2).then_some(Played { times, is_sweep })
}

/// Whether times go one way, up or down.
fn is_in_order(times: &[i32]) -> bool {
    let goes = |back: fn(i32, i32) -> i32| {
        let pairs = times.iter().zip(times.iter().skip(1));
        pairs.into_iter().all(|(&a, &b)| back(a, b) <= OUT_OF_ORDER)
    };
    goes(|a, b| a.saturating_sub(b)) || goes(|a, b| b.saturating_sub(a))
}

/// When the missing note `index` came after all, too late to be paired, if it did after `first`.
fn late_note(material: Material<'_>, index: usize, first: i32) -> Option<i32> {
    if material.pairing.played(index).is_some() {
        return None;
    }
    let wanted = material.chunk.notes().get(index)?;
    let mut extras = material.played.iter().enumerate().filter(|(by, note)| {
        material.pairing.role(*by) == Role::Extra && note.is_struck() && note.pitch == wanted.pitch
    });
    let at = |note: &PlayedNote| material.struck_at(index, note).as_micros();
    let late = extras.find(|(_, note)| (0..=LATEST).contains(&at(note).saturating_sub(first)));
    late.map(|(_, note)| at(note))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_widest_of_many_may_be_wider() {
        let squares =
            |scatter: u64, degrees: u32| (scatter * scatter * u64::from(degrees), degrees);
        // Steady hands gain nothing, sixteen chords of four at the edge 41 % (4.58 / 3.24).
        assert_eq!(of_the_widest(40_000, 4, 16, squares(6_000, 45)), 40_000);
        let edge = of_the_widest(40_000, 4, 16, squares(13_500, 45));
        assert!((56_000..57_000).contains(&edge), "{edge}");
        // Hands that are over for certain gain nothing, and a single chord has no others.
        assert_eq!(of_the_widest(40_000, 4, 16, squares(20_000, 45)), 40_000);
        assert_eq!(of_the_widest(40_000, 4, 1, (0, 0)), 40_000);
    }

    #[test]
    fn a_sweep_goes_one_way() {
        assert!(is_in_order(&[0, 20_000, 38_000, 61_000, 80_000, 95_000]));
        assert!(is_in_order(&[95_000, 80_000, 61_000, 70_000, 20_000, 0]), "together");
        assert!(!is_in_order(&[0, 40_000, 0, 40_000, 80_000]));
    }
}
