//! How well notes are told apart when up to a fifth of them are not right, on long invented
//! guitar pieces with the timing of real chords (see `evenhand_tests::chords`), as a table:
//! `golden/alignment-rates.txt`. `EVENHAND_BLESS=1` writes it anew.
//! A second one is about notes left out of broken-chord figures (see `evenhand_tests::figures`).

use evenhand_tests::chords::progression;
use evenhand_tests::lab::alignment::{left_out, missed, rows, text};
use evenhand_tests::lab::golden;
use evenhand_tests::seeded::Seeded;

#[test]
fn pairs_are_found_among_many_mistakes() {
    // Sixty chords are about two hundred notes; a chunk holds 256.
    let attempts: Vec<_> = (0..)
        .map(|seed| progression(60, &mut Seeded::new(seed)))
        .filter(|attempt| attempt.expected.len() <= 256)
        .take(30)
        .collect();
    let rows = rows(&attempts, &[true, false]);
    let head = "F of the pairs (expected, played) in per cent, by the share of notes that are not \
                right;\nthirty invented progressions of sixty chords";
    let text = text(head, &rows);
    let changes = golden::compare("alignment-rates.txt", &text);
    let missed = missed(&rows);
    assert!(missed.is_empty(), "{missed}\n{text}");
    assert!(changes.is_empty(), "the rates changed:\n{changes}");
}

/// Figures whose notes are left out, in a table of their own: `golden/left-out-rates.txt`. Where
/// the player goes on as if nothing were missing, much of it cannot be known; a slow alignment of
/// another make says how much.
#[test]
fn notes_left_out_of_figures_are_found_as_well_as_a_slow_search_finds_them() {
    let (text, compared) = left_out(60, 60);
    let changes = golden::compare("left-out-rates.txt", &text);
    for (ours, theirs) in compared {
        // A quarter of a per cent is one gap of two in five attempts.
        assert!(ours >= theirs - 0.25, "{ours:.2}, the slow one {theirs:.2}\n{text}");
    }
    assert!(changes.is_empty(), "the rates changed:\n{changes}");
}
