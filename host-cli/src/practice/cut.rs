//! A chunk in two halves.

use crate::study::{Fingering, Prepared};
use evenhand_core::practice::Side;
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::units::Ticks;

/// Events of its own that a half has at least. With the arrival on what follows, steadiness can
/// be told. Our default.
const FEWEST_EVENTS: usize = 4;

/// Where a chunk is best cut: at an event near its middle, on a beat if there is one, where no
/// slur and no trill is cut through. `None` if it is too short, or cannot be cut.
pub(super) fn place(chunk: &Prepared) -> Option<Ticks> {
    let own: Vec<&ExpectedNote> = proper(chunk).collect();
    let mut onsets: Vec<Ticks> = own.iter().map(|note| note.onset).collect();
    onsets.dedup();
    let last = onsets.len().checked_sub(FEWEST_EVENTS)?;
    let may = |at: Ticks| {
        own.iter().all(|note| {
            let slurred = note.onset == at && note.attack == Attack::Slurred;
            let through = note.onset < at && at < note.onset.plus(note.duration);
            !(slurred || through && note.trill.is_some())
        })
    };
    let beat = chunk.metre.beat().get().max(1);
    // Twice the distance from the middle, and a beat more where it is not on one (our default).
    let cost = |at: Ticks| {
        let from_middle = (at.get() * 2).abs_diff(chunk.length.get());
        let on_beat = chunk.into_first_bar.plus(at).get().is_multiple_of(beat);
        from_middle + if on_beat { 0 } else { 2 * beat }
    };
    onsets
        .get(FEWEST_EVENTS..=last)?
        .iter()
        .copied()
        .filter(|at| may(*at))
        .min_by_key(|at| cost(*at))
}

/// The half of a chunk before or from `at` on. The first half lands on the second; what still
/// sounds at the cut ends there.
pub(crate) fn half(chunk: &Prepared, at: Ticks, side: Side) -> Prepared {
    let all = chunk.notes.iter().copied().zip(chunk.hand.iter().copied());
    let (notes, hand): (Vec<ExpectedNote>, Vec<Fingering>) = match side {
        Side::First => {
            let next = proper(chunk).map(|note| note.onset).find(|onset| *onset >= at);
            all.filter_map(|(note, hand)| {
                if note.marks.has(Marks::LANDING) {
                    return None;
                }
                if note.onset < at {
                    let duration = note.duration.get().min(at.since(note.onset).get());
                    return Some((ExpectedNote { duration: Ticks::new(duration), ..note }, hand));
                }
                (Some(note.onset) == next).then(|| arrival(&note, &hand))
            })
            .unzip()
        }
        Side::Second => all
            .filter(|(note, _)| note.onset >= at)
            .map(|(note, hand)| begun(&note, &hand, at))
            .unzip(),
    };
    let (first_bar, into_first_bar, length) = match side {
        Side::First => (chunk.first_bar, chunk.into_first_bar, at),
        Side::Second => {
            let into = chunk.into_first_bar.plus(at).get();
            let bar = chunk.metre.bar().get().max(1);
            let bars = u16::try_from(into / bar).unwrap_or(u16::MAX);
            let first_bar = chunk.first_bar.saturating_add(bars);
            (first_bar, Ticks::new(into % bar), chunk.length.since(at))
        }
    };
    let alternatives = Vec::new();
    Prepared { notes, hand, first_bar, into_first_bar, length, alternatives, ..chunk.clone() }
}

/// The notes that are not the landing's.
fn proper(chunk: &Prepared) -> impl Iterator<Item = &ExpectedNote> {
    chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING))
}

/// A note of the second half as the landing of the first. How long it lasts is not judged; a
/// quarter note, as in landings that are written.
fn arrival(note: &ExpectedNote, hand: &Fingering) -> (ExpectedNote, Fingering) {
    let mut marks = Marks::LANDING;
    for kept in [Marks::ROLLED, Marks::SHIFT, Marks::ACCENT, Marks::SWEPT] {
        if note.marks.has(kept) {
            marks = marks.with(kept);
        }
    }
    let duration = Ticks::new(Ticks::PER_QUARTER);
    let note = ExpectedNote { marks, duration, trill: None, ..*note };
    (note, Fingering { trill_fret: None, ..*hand })
}

/// A note of the second half, counted from its beginning. Its first notes are plucked, since
/// there is nothing they could be slurred from.
fn begun(note: &ExpectedNote, hand: &Fingering, at: Ticks) -> (ExpectedNote, Fingering) {
    let onset = note.onset.since(at);
    if onset > Ticks::ZERO {
        return (ExpectedNote { onset, ..*note }, *hand);
    }
    let note = ExpectedNote { onset, attack: Attack::Plucked, ..*note };
    (note, Fingering { slur: None, ..*hand })
}
