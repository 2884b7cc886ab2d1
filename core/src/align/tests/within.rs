//! What is found where only what costs so much at most is looked at.

extern crate std;

use super::super::ANY_COST;
use super::{Aligned, Chance, TEMPO, Workspace, pairs, push_all, random_notes, random_played};
use crate::attempt::PlayedNote;
use crate::study::{Chunk, ExpectedNote};
use std::vec::Vec;

/// The pairing of an attempt that was cut out, of what costs so much at most, with what was said on the way and what it costs; `None` if that
/// is more.
fn align_within(
    notes: &[ExpectedNote],
    played: &[PlayedNote],
    cost: u16,
) -> Option<(Aligned, Vec<i32>, u16)> {
    let chunk = Chunk::new(notes, TEMPO).unwrap();
    let mut space = Workspace::new(&chunk);
    let mut aligner = space.aligner();
    // What was there before is of no matter.
    push_all(&mut aligner, notes, played);
    aligner.begin_cut(cost);
    let mut so_far = Vec::new();
    for count in 1..=played.len() {
        aligner.push(notes, &played[..count]);
        if aligner.progress.is_too_dear() {
            return None;
        }
        so_far.push(aligner.progress.events_behind() as i32);
        so_far.push(i32::from(aligner.progress.last_note_matched()));
        if aligner.is_complete() {
            so_far.push(aligner.progress.match_score(&played[..count]));
        }
    }
    if !aligner.has_found() {
        return None;
    }
    let cost = aligner.cost().unwrap();
    Some((Aligned(aligner.pairing(notes, played), notes.len()), so_far, cost))
}

#[test]
fn what_is_found_within_a_cost_is_what_is_found_without() {
    let mut chance = Chance(23);
    let (mut found, mut dearer) = (0, 0);
    for round in 0..2_000 {
        let notes = random_notes(&mut chance, 24, if round % 2 == 0 { 1 } else { 4 });
        let mut played = random_played(&mut chance, 40);
        // Half of them are at least somewhat like the chunk.
        if round % 4 < 2 {
            for (note, wanted) in played.iter_mut().zip(&notes) {
                if chance.below(8) > 0 {
                    (note.pitch, note.string) = (wanted.pitch, wanted.string);
                }
            }
        }
        let (all, all_so_far, least) = align_within(&notes, &played, ANY_COST).unwrap();
        for cost in [0, 40, 80, 160, 320, 640, 1_280, 2_560, least.saturating_sub(1), least] {
            let within = align_within(&notes, &played, cost);
            assert_eq!(within.is_some(), least <= cost, "{round}: {cost}, and it costs {least}");
            let Some((within, so_far, _)) = within else {
                dearer += 1;
                continue;
            };
            found += 1;
            assert_eq!(pairs(&within), pairs(&all), "{round}, {cost}: {notes:?} {played:?}");
            assert_eq!(so_far, all_so_far, "{round}, {cost}");
        }
    }
    assert!(found > 1_000 && dearer > 1_000, "{found} found, {dearer} not");
}
