//! What pitch leaves open: notes that changed places among equal ones, and gaps in repetitions.

extern crate std;

use super::{Chance, Role, align, expected, pairs, played};
use crate::study::ExpectedNote;
use std::vec::Vec;

/// A line in quavers, or with every third note twice as long.
fn line(pitches: &[u8], uneven: bool) -> Vec<ExpectedNote> {
    let at = |i: u32| if uneven { i + i / 3 } else { i };
    pitches.iter().zip(0..).map(|(&pitch, i)| expected(at(i), pitch)).collect()
}

/// When each note of it is played, in milliseconds: a quaver takes so long, and each note comes up
/// to `scatter` early or late.
fn times(line: &[ExpectedNote], quaver: i32, scatter: u64, chance: &mut Chance) -> Vec<i32> {
    let half = crate::units::Ticks::PER_QUARTER as i32 / 2;
    line.iter()
        .map(|note| {
            let off = chance.below(2 * scatter + 1) as i32 - scatter as i32;
            1_000 + note.onset.get() as i32 / half * quaver + off
        })
        .collect()
}

/// Every line of seven notes of up to three pitches, every two neighbours that change places.
#[test]
fn neighbours_that_changed_places_are_found_whatever_is_around_them() {
    const LENGTH: usize = 7;
    let mut chance = Chance(21);
    let (mut tried, mut wrong) = (0, Vec::new());
    for number in 0..3_usize.pow(LENGTH as u32) {
        let mut rest = number;
        let pitches: Vec<u8> = (0..LENGTH)
            .map(|_| {
                let pitch = [60, 62, 67][rest % 3];
                rest /= 3;
                pitch
            })
            .collect();
        for at in (0..LENGTH - 1).filter(|&at| pitches[at] != pitches[at + 1]) {
            let uneven = chance.below(2) == 0;
            let notes = line(&pitches, uneven);
            let quaver = 180 + chance.below(240) as i32;
            let mut heard = pitches.clone();
            heard.swap(at, at + 1);
            let played: Vec<_> = times(&notes, quaver, 15, &mut chance)
                .iter()
                .zip(&heard)
                .map(|(&time, &pitch)| played(time, pitch))
                .collect();
            let mut truth: Vec<_> = (0..LENGTH).map(Some).collect();
            truth.swap(at, at + 1);
            let found = pairs(&align(&notes, &played));
            tried += 1;
            if found != truth {
                wrong.push((pitches.clone(), at, uneven, quaver, found));
            }
        }
    }
    assert!(tried > 8_000, "{tried}");
    assert!(wrong.is_empty(), "{} of {tried}, such as {:?}", wrong.len(), wrong[0]);
}

#[test]
fn a_missing_note_and_an_extra_one_are_not_two_that_changed_places() {
    // The second A is left out, with its time; and one more is played after the B.
    let notes = line(&[65, 60, 60, 62, 64, 65], false);
    let played: Vec<_> = [(0, 65), (250, 60), (750, 62), (875, 60), (1_000, 64), (1_250, 65)]
        .map(|(time, pitch)| played(time, pitch))
        .into();
    let pairing = align(&notes, &played);
    assert_eq!(pairs(&pairing), [Some(0), Some(1), None, Some(2), Some(4), Some(5)]);
    assert_eq!(pairing.role(3), Role::Extra);
}

/// Alternating notes at the start, of which a pair is left out: time goes on, at any tempo.
#[test]
fn time_tells_which_of_equal_figures_is_missing() {
    let mut chance = Chance(22);
    for run in [4, 6, 8] {
        for tail in [2, 6] {
            for missing in (2..run).step_by(2) {
                for percent in [55, 80, 100, 125, 170] {
                    let mut pitches: Vec<u8> = (0..run).map(|i| 46 + i as u8 % 2).collect();
                    pitches.extend(&[50, 53, 51, 55, 48, 52][..tail]);
                    let notes = line(&pitches, false);
                    let times = times(&notes, 250 * percent / 100, 15, &mut chance);
                    let is_missing = |i: usize| i == missing || i == missing + 1;
                    let there: Vec<usize> =
                        (0..pitches.len()).filter(|&i| !is_missing(i)).collect();
                    let played: Vec<_> =
                        there.iter().map(|&i| played(times[i], pitches[i])).collect();
                    let truth: Vec<_> =
                        (0..pitches.len()).map(|i| there.iter().position(|&t| t == i)).collect();
                    let found = pairs(&align(&notes, &played));
                    assert_eq!(found, truth, "{missing} of {run}, {tail} after, {percent} %");
                }
            }
        }
    }
}

/// Where a figure is played once less and nothing tells where, the fewest notes are taken for
/// others if it is the one in the middle.
#[test]
fn a_figure_played_once_less_is_missing_in_the_middle() {
    let pitches: Vec<u8> = [[67, 69].as_slice(), &[50, 57].repeat(7), &[64, 65, 62]].concat();
    let notes = line(&pitches, false);
    let heard: Vec<u8> = [[67, 69].as_slice(), &[50, 57].repeat(6), &[64, 65, 62]].concat();
    let played: Vec<_> = heard.iter().zip(0..).map(|(&p, i)| played(i * 250, p)).collect();
    let found = pairs(&align(&notes, &played));
    let missing: Vec<_> = (0..pitches.len()).filter(|&i| found[i].is_none()).collect();
    assert_eq!(missing.len(), 2, "{found:?}");
    assert!(missing[1] == missing[0] + 1 && (7..=9).contains(&missing[0]), "{missing:?}");
}

/// A note is lost, and a stray one comes near its time on another string or on one unknown. In its very time,
/// where strings are not known, a converter may have taken the one for the other.
#[test]
fn what_is_out_of_reach_stands_in_no_notes_place_but_in_its_very_time() {
    let pitches = [48, 50, 52, 53, 55, 53, 52, 50];
    for (own, other) in [(None, None), (Some(5), Some(1)), (Some(2), Some(6)), (None, Some(1))] {
        for away in [-33, -20, -13, 13, 15, 22, 33_i16] {
            for late in [-60, 0, 60, 120] {
                for at in 1..7 {
                    let string =
                        |number: Option<u8>| number.and_then(crate::units::GuitarString::new);
                    let mut notes = line(&pitches, false);
                    notes.iter_mut().for_each(|note| note.string = string(own));
                    let mut heard: Vec<_> = (0..8_u8)
                        .map(|i| {
                            let mut note = played(i32::from(i) * 250, pitches[usize::from(i)]);
                            note.string = string(own);
                            note
                        })
                        .collect();
                    let pitch = (i16::from(pitches[at]) + away) as u8;
                    heard[at] = played(at as i32 * 250 + late, pitch);
                    heard[at].string = string(other);
                    let pairing = align(&notes, &heard);
                    let context = (own, other, away, late, at);
                    if late == 0 && (own.is_none() || other.is_none()) {
                        assert_eq!(pairing.role(at), Role::Note(at), "{context:?}");
                        continue;
                    }
                    assert_eq!(pairing.role(at), Role::Extra, "{context:?}");
                    assert_eq!(pairing.played(at), None, "{context:?}");
                }
            }
        }
    }
}

/// The same together with the other notes of a chord.
#[test]
fn a_stray_note_far_from_a_chord_is_none_of_it() {
    let mut notes: Vec<_> = [40, 47, 52].iter().map(|&pitch| expected(0, pitch)).collect();
    notes.push(expected(2, 45));
    for (pitch, role) in [(54, Role::Note(2)), (61, Role::Note(2)), (85, Role::Extra)] {
        let heard = [(0, 40), (8, 47), (15, pitch), (500, 45)];
        let heard: Vec<_> = heard.iter().map(|&(at, pitch)| played(at, pitch)).collect();
        let pairing = align(&notes, &heard);
        assert_eq!(pairing.role(2), role, "{pitch}");
    }
}
