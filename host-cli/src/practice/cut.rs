//! A chunk in two halves, and passages out of a piece.

use crate::study::{Fingering, Prepared};
use evenhand_core::practice::Side;
use evenhand_core::study::{Attack, Excerpt, ExpectedNote, Marks};
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
    excerpt(
        chunk,
        match side {
            Side::First => Excerpt::up_to(at, &chunk.notes),
            Side::Second => Excerpt::onwards(at),
        },
    )
}

/// The events `from..=to` of a piece, with the arrival on the next; `None` if there is nothing in it.
pub(super) fn events(piece: &Prepared, from: u8, to: u8) -> Option<Prepared> {
    let passage = Excerpt::of_events(&piece.notes, from.into(), to.into())?;
    Some(excerpt(piece, passage))
}

/// A passage out of a chunk.
fn excerpt(chunk: &Prepared, excerpt: Excerpt) -> Prepared {
    let all = chunk.notes.iter().zip(&chunk.hand);
    let (notes, hand) = all
        .filter_map(|(note, hand)| {
            let taken = excerpt.take(note)?;
            let is_first = excerpt.begins() > Ticks::ZERO && taken.onset == Ticks::ZERO;
            let slur = if is_first { None } else { hand.slur };
            let trill_fret = if excerpt.is_arrival(note) { None } else { hand.trill_fret };
            Some((taken, Fingering { slur, trill_fret, ..*hand }))
        })
        .unzip();
    let into = chunk.into_first_bar.plus(excerpt.begins()).get();
    let bar = chunk.metre.bar().get().max(1);
    let bars = u16::try_from(into / bar).unwrap_or(u16::MAX);
    Prepared {
        notes,
        hand,
        first_bar: chunk.first_bar.saturating_add(bars),
        into_first_bar: Ticks::new(into % bar),
        length: excerpt.length(chunk.length),
        alternatives: Vec::new(),
        ..chunk.clone()
    }
}

/// The notes that are not the landing's.
fn proper(chunk: &Prepared) -> impl Iterator<Item = &ExpectedNote> {
    chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING))
}
