//! Two chunks in one.

use crate::study::Prepared;
use evenhand_core::limits;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::tolerance::{PracticeLevel, TimeLimit, Tolerances};
use evenhand_core::units::Ticks;

/// Whether `right` follows `left` without a gap, in one metre, and both fit into one chunk.
pub(crate) fn can(left: &Prepared, right: &Prepared) -> bool {
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
        tolerances: lenient(&left.tolerances, &right.tolerances),
        length: left.length.plus(right.length),
        alternatives: Vec::new(),
        ..left.clone()
    }
}

fn proper(chunk: &Prepared) -> usize {
    chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count()
}

/// Of each tolerance the more lenient.
fn lenient(a: &Tolerances, b: &Tolerances) -> Tolerances {
    let time = |a: TimeLimit, b: TimeLimit| TimeLimit {
        at_least: a.at_least.max(b.at_least),
        per_mille: a.per_mille.max(b.per_mille),
    };
    let rank = |level| match level {
        PracticeLevel::First => 0,
        PracticeLevel::Steady => 1,
        PracticeLevel::Performance => 2,
    };
    // One slip in so many notes; 0 allows none.
    let slips = match (a.notes_a_slip, b.notes_a_slip) {
        (0, one) | (one, 0) => one,
        (a, b) => a.min(b),
    };
    Tolerances {
        level: if rank(a.level) <= rank(b.level) { a.level } else { b.level },
        notes_a_slip: slips,
        unsteadiness: time(a.unsteadiness, b.unsteadiness),
        single_note: time(a.single_note, b.single_note),
        hesitation: time(a.hesitation, b.hesitation),
        drift_per_mille: a.drift_per_mille.max(b.drift_per_mille),
        chord_spread: a.chord_spread.max(b.chord_spread),
        unevenness: a.unevenness.max(b.unevenness),
        single_level: a.single_level.max(b.single_level),
        slur_below: a.slur_below.max(b.slur_below),
        click_offset: (
            a.click_offset.0.min(b.click_offset.0),
            a.click_offset.1.max(b.click_offset.1),
        ),
        trill_unevenness_per_mille: a.trill_unevenness_per_mille.max(b.trill_unevenness_per_mille),
        trill_cover_per_mille: a.trill_cover_per_mille.min(b.trill_cover_per_mille),
        held_per_mille: a.held_per_mille.min(b.held_per_mille),
        staccato_per_mille: a.staccato_per_mille.max(b.staccato_per_mille),
        gap_per_mille: a.gap_per_mille.max(b.gap_per_mille),
        accent_above: a.accent_above.min(b.accent_above),
        other_strings_per_mille: a.other_strings_per_mille.max(b.other_strings_per_mille),
    }
}
