//! Seeded mistakes put into a performance that is known note by note.

use std::collections::BTreeSet;

use crate::attempt::{Attempt, PlayedNote, Role};
use crate::seeded::Seeded;

/// How many mistakes of each kind to make.
#[derive(Clone, Copy, Debug)]
pub struct Mistakes {
    /// Notes left out.
    pub missing: usize,
    /// Notes played one to three semitones off.
    pub wrong: usize,
    /// Notes added between two others.
    pub extra: usize,
}

/// Steps of the score (distinct onsets) from one mistake to the next, at least. An extra note
/// counts as a mistake at the step before it and at the one after it.
///
/// Mistakes next to each other can be read in more than one way: a missing note beside an
/// extra one *is* a wrong note. Kept apart, the truth is the only reading with so few mistakes.
const STEPS_APART: usize = 2;

/// A wrong or extra note has a pitch that the score does not have so many steps around it;
/// otherwise it could stand for one of those notes, and no listener could tell.
const STEPS_OF_OTHER_PITCH: usize = 2;

/// An extra note needs a gap of so many microseconds between two notes (our choice).
const GAP_FOR_AN_EXTRA_NOTE: u32 = 40_000;

/// The attempt with these mistakes in it, at random places that keep the truth unambiguous.
///
/// # Panics
/// If there are not that many such places.
pub fn with_mistakes(attempt: &Attempt, mistakes: Mistakes, seeded: &mut Seeded) -> Attempt {
    let steps = steps(attempt);
    let mut places = Places::new(attempt, &steps, seeded);
    let mut played: Vec<Option<PlayedNote>> = attempt.played.iter().copied().map(Some).collect();
    let mut added = Vec::new();
    // In turn, so that no kind gets only the places that the others leave.
    for round in 0..mistakes.missing.max(mistakes.wrong).max(mistakes.extra) {
        if round < mistakes.wrong {
            let (place, pitch) = places.take(0, |j, expected| {
                let pitch = attempt.played[j].pitch;
                let near = pitches_near(attempt, &steps, steps[expected]);
                other_pitch(pitch, 3, &near, seeded)
            });
            let expected = places.expected(place);
            played[place] =
                Some(PlayedNote { pitch, role: Role::Wrong(expected), ..attempt.played[place] });
        }
        if round < mistakes.extra {
            let (_, note) = places.take(1, |j, expected| {
                let (this, next) = (attempt.played[j], attempt.played.get(j + 1)?);
                let gap = next.onset - this.onset;
                if gap < GAP_FOR_AN_EXTRA_NOTE {
                    return None;
                }
                let near = pitches_near(attempt, &steps, steps[expected]);
                let pitch = other_pitch(this.pitch, 7, &near, seeded)?;
                let percent = seeded.between(25, 75) as u32;
                let onset = this.onset + gap / 100 * percent;
                let velocity = seeded.between(40, 100) as u8;
                Some(PlayedNote {
                    onset,
                    length: 60_000,
                    pitch,
                    velocity,
                    role: Role::Extra,
                    ..this
                })
            });
            added.push(note);
        }
        if round < mistakes.missing {
            let (place, ()) = places.take(0, |_, _| Some(()));
            played[place] = None;
        }
    }
    let played: Vec<PlayedNote> = played.into_iter().flatten().chain(added).collect();
    let (tempo, bar) = (attempt.micros_per_quarter, attempt.quarters_per_bar);
    Attempt::new(&attempt.expected, &played, tempo, bar)
}

/// For each expected note the number of its distinct onset.
fn steps(attempt: &Attempt) -> Vec<usize> {
    let onsets: BTreeSet<u32> = attempt.expected.iter().map(|note| note.onset).collect();
    let onsets: Vec<u32> = onsets.into_iter().collect();
    attempt.expected.iter().map(|note| onsets.partition_point(|&o| o < note.onset)).collect()
}

fn pitches_near(attempt: &Attempt, steps: &[usize], step: usize) -> BTreeSet<u8> {
    let near = |&(_, s): &(_, &usize)| s.abs_diff(step) <= STEPS_OF_OTHER_PITCH;
    attempt.expected.iter().zip(steps).filter(near).map(|(note, _)| note.pitch).collect()
}

/// A random pitch at most `most` semitones from `pitch` and not among `near`.
fn other_pitch(pitch: u8, most: i64, near: &BTreeSet<u8>, seeded: &mut Seeded) -> Option<u8> {
    let (low, high) = (i64::from(pitch) - most, i64::from(pitch) + most);
    let free: Vec<u8> = (low.max(0)..=high.min(127))
        .map(|number| number as u8)
        .filter(|number| !near.contains(number))
        .collect();
    if free.is_empty() { None } else { Some(free[seeded.index(free.len())]) }
}

/// Played notes in random order, handed out so that they keep their distance.
struct Places<'a> {
    attempt: &'a Attempt,
    steps: &'a [usize],
    order: Vec<usize>,
    taken: Vec<usize>,
}

impl<'a> Places<'a> {
    fn new(attempt: &'a Attempt, steps: &'a [usize], seeded: &mut Seeded) -> Self {
        let expected = |j: usize| attempt.played[j].role.expected();
        let mut order: Vec<usize> =
            (0..attempt.played.len()).filter(|&j| expected(j).is_some()).collect();
        seeded.shuffle(&mut order);
        // Mistakes that are there already keep their distance, too.
        let notes = attempt.played.iter().enumerate();
        let there = notes.filter(|(_, note)| !matches!(note.role, Role::Plays(_)));
        let taken = there
            .filter_map(|(j, _)| (0..=j).rev().find_map(expected))
            .flat_map(|i| [steps[i], steps[i] + 1])
            .collect();
        Self { attempt, steps, order, taken }
    }

    fn expected(&self, place: usize) -> usize {
        self.attempt.played[place].role.expected().expect("places are notes of the score")
    }

    /// The first place at a distance from all others for which `make` makes something. The
    /// mistake reaches over `reach` more steps.
    fn take<T>(
        &mut self,
        reach: usize,
        mut make: impl FnMut(usize, usize) -> Option<T>,
    ) -> (usize, T) {
        for &place in &self.order {
            let step = self.steps[self.expected(place)];
            let far =
                |&other: &usize| other >= step + reach + STEPS_APART || other + STEPS_APART <= step;
            if self.taken.iter().all(far)
                && let Some(made) = make(place, self.expected(place))
            {
                self.taken.extend(step..=step + reach);
                return (place, made);
            }
        }
        panic!("mistakes at steps {:?} leave no place for another", self.taken);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::attempt::ExpectedNote;
    use crate::labels::Counts;

    #[test]
    fn the_truth_counts_what_was_asked_for() {
        let expected: Vec<ExpectedNote> = (0..60)
            .map(|i| ExpectedNote {
                onset: i * 240,
                length: 240,
                pitch: 50 + (i * 7 % 12) as u8,
                channel: 0,
                bar: 0,
            })
            .collect();
        let played: Vec<PlayedNote> = expected
            .iter()
            .enumerate()
            .map(|(i, note)| PlayedNote {
                onset: note.onset * 1_000,
                length: 200_000,
                pitch: note.pitch,
                channel: 0,
                velocity: 80,
                role: Role::Plays(i),
            })
            .collect();
        let attempt = Attempt::new(&expected, &played, 480_000, 4);
        let mistakes = Mistakes { missing: 5, wrong: 4, extra: 3 };
        let faulty = with_mistakes(&attempt, mistakes, &mut Seeded::new(5));
        assert_eq!(faulty.truth().counts(), Counts { pairs: 51, wrong: 4, missing: 5, extra: 3 });
        for note in &faulty.played {
            match note.role {
                Role::Plays(i) => assert_eq!(note.pitch, expected[i].pitch),
                Role::Wrong(i) => {
                    assert!((1..=3).contains(&note.pitch.abs_diff(expected[i].pitch)));
                }
                Role::Extra => {}
            }
        }
        assert!(faulty.truth().check_complete(60, faulty.played.len()).is_ok());
    }
}
