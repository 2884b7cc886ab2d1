//! Two chunks in one.

use crate::study::Prepared;
use evenhand_core::limits;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::Ticks;

/// Whether `right` follows `left` without a gap, in one metre, and both fit into one chunk.
pub fn can(left: &Prepared, right: &Prepared) -> bool {
    let bar = left.metre.bar().get().max(1);
    let end = left.into_first_bar.plus(left.length).get();
    let bars = u16::try_from(end / bar).unwrap_or(u16::MAX);
    let place = (left.first_bar.saturating_add(bars), Ticks::new(end % bar));
    let end = right.notes.iter().map(|note| note.onset.plus(note.duration)).max();
    let end = left.length.plus(end.unwrap_or_default().max(right.length));
    left.metre == right.metre
        && place == (right.first_bar, right.into_first_bar)
        && proper(left) + right.notes.len() <= limits::EXPECTED_NOTES
        && end.get() <= limits::CHUNK_QUARTERS * Ticks::PER_QUARTER
}

/// Both in one: the landing of `left` is the beginning of `right`. The slower tempo holds, and
/// of each tolerance the more lenient, so that nothing fails in one that passes by itself.
/// `voice` gives the voice that a voice of `right` goes on with.
pub(crate) fn join(left: &Prepared, right: &Prepared, voice: impl Fn(u8) -> u8) -> Prepared {
    let own = left.notes.iter().zip(&left.hand);
    let own = own.filter(|(note, _)| !note.marks.has(Marks::LANDING));
    let own = own.map(|(note, hand)| {
        // What rings beyond its chunk does not reach into the next.
        let most = left.length.since(note.onset);
        let duration = note.duration.min(most);
        (ExpectedNote { duration, ..*note }, *hand)
    });
    let follow = right.notes.iter().zip(&right.hand).map(|(note, hand)| {
        let onset = note.onset.plus(left.length);
        (ExpectedNote { onset, voice: voice(note.voice), ..*note }, *hand)
    });
    let (notes, hand) = own.chain(follow).unzip();
    Prepared {
        name: format!("{} and {}", left.name, right.name),
        notes,
        hand,
        tempo: left.tempo.slower(right.tempo),
        tolerances: left.tolerances.lenient(&right.tolerances),
        length: left.length.plus(right.length),
        alternatives: Vec::new(),
        ..left.clone()
    }
}

fn proper(chunk: &Prepared) -> usize {
    chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count()
}
