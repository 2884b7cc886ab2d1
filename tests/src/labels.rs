//! The labels of one judged attempt, and how two sets of labels differ.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use crate::attempt::Attempt;

/// Which expected note was played by which played note. Expected notes count from 0 in order
/// of onset, pitch, string; played notes from 0 in order of arrival.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Labels {
    /// (expected, played) with the pitch right.
    pub pairs: BTreeSet<(usize, usize)>,
    /// (expected, played) with the pitch wrong.
    pub wrong: BTreeSet<(usize, usize)>,
    /// Expected notes that nothing plays.
    pub missing: BTreeSet<usize>,
    /// Played notes that nothing asks for.
    pub extra: BTreeSet<usize>,
}

/// How many labels of each kind there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counts {
    /// Notes played right.
    pub pairs: usize,
    /// Notes played with a wrong pitch.
    pub wrong: usize,
    /// Notes not played.
    pub missing: usize,
    /// Notes played that were not asked for.
    pub extra: usize,
}

impl Labels {
    /// How many labels of each kind there are.
    pub fn counts(&self) -> Counts {
        Counts {
            pairs: self.pairs.len(),
            wrong: self.wrong.len(),
            missing: self.missing.len(),
            extra: self.extra.len(),
        }
    }

    /// Complains unless each expected and each played note has exactly one label.
    pub fn check_complete(&self, expected: usize, played: usize) -> Result<(), String> {
        let both = || self.pairs.iter().chain(&self.wrong);
        let on_expected: Vec<usize> =
            both().map(|pair| pair.0).chain(self.missing.iter().copied()).collect();
        let on_played: Vec<usize> =
            both().map(|pair| pair.1).chain(self.extra.iter().copied()).collect();
        each_once("expected", on_expected, expected)?;
        each_once("played", on_played, played)
    }

    /// The same labels with expected notes that cannot be told apart dealt out in one fixed
    /// way: the earliest right note to the first twin and so on, then wrong ones, then none.
    pub fn with_twins_in_order(&self, twins: &[Vec<usize>]) -> Self {
        let mut labels = self.clone();
        for group in twins {
            let mut free = group.iter().copied();
            for set in [&mut labels.pairs, &mut labels.wrong] {
                let taken: BTreeSet<_> =
                    set.iter().copied().filter(|pair| group.contains(&pair.0)).collect();
                set.retain(|pair| !taken.contains(pair));
                let mut arrivals: Vec<usize> = taken.iter().map(|pair| pair.1).collect();
                arrivals.sort_unstable();
                set.extend(free.by_ref().take(arrivals.len()).zip(arrivals));
            }
            let absent = group.iter().filter(|i| labels.missing.remove(i)).count();
            labels.missing.extend(free.take(absent));
        }
        labels
    }

    /// What differs from `truth`, a line a label, with the notes spelled out; empty if nothing.
    pub fn differences(&self, truth: &Self, attempt: &Attempt, strings_known: bool) -> String {
        let twins = attempt.twins(strings_known);
        let judged = self.with_twins_in_order(&twins).lines();
        let truth = truth.with_twins_in_order(&twins).lines();
        let mut text = String::new();
        let lost = truth.iter().filter(|line| !judged.contains(line)).map(|line| ("lost ", line));
        let false_ones =
            judged.iter().filter(|line| !truth.contains(line)).map(|line| ("false", line));
        for (word, &(kind, expected, played)) in lost.chain(false_ones) {
            let _ = write!(text, "  {word} {kind}:");
            if let Some(note) = expected.and_then(|i| attempt.expected.get(i)) {
                let quarter = f64::from(note.onset) / f64::from(crate::attempt::TICKS_PER_QUARTER);
                let _ = write!(
                    text,
                    " expected {} (quarter {quarter}, pitch {}, channel {})",
                    expected.unwrap_or_default(),
                    note.pitch,
                    note.channel
                );
            }
            if let Some(note) = played.and_then(|j| attempt.played.get(j)) {
                let _ = write!(
                    text,
                    " played {} ({} ms, pitch {}, channel {})",
                    played.unwrap_or_default(),
                    note.onset / 1000,
                    note.pitch,
                    note.channel
                );
            }
            text.push('\n');
        }
        text
    }

    fn lines(&self) -> BTreeSet<(&'static str, Option<usize>, Option<usize>)> {
        let pairs = self.pairs.iter().map(|&(i, j)| ("pair", Some(i), Some(j)));
        let wrong = self.wrong.iter().map(|&(i, j)| ("wrong", Some(i), Some(j)));
        let missing = self.missing.iter().map(|&i| ("missing", Some(i), None));
        let extra = self.extra.iter().map(|&j| ("extra", None, Some(j)));
        pairs.chain(wrong).chain(missing).chain(extra).collect()
    }
}

fn each_once(side: &str, labelled: Vec<usize>, number: usize) -> Result<(), String> {
    let mut times: BTreeMap<usize, usize> = (0..number).map(|i| (i, 0)).collect();
    for note in labelled {
        *times.entry(note).or_insert(0) += 1;
    }
    match times.into_iter().find(|&(note, times)| times != 1 || note >= number) {
        Some((note, _)) if note >= number => {
            Err(format!("there is no {side} note {note}, only {number} of them"))
        }
        Some((note, times)) => Err(format!("{side} note {note} has {times} labels instead of one")),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(pairs: &[(usize, usize)], missing: &[usize], extra: &[usize]) -> Labels {
        Labels {
            pairs: pairs.iter().copied().collect(),
            missing: missing.iter().copied().collect(),
            extra: extra.iter().copied().collect(),
            ..Labels::default()
        }
    }

    #[test]
    fn a_note_without_a_label_or_with_two_is_noticed() {
        assert!(labels(&[(0, 1)], &[1], &[0]).check_complete(2, 2).is_ok());
        assert!(labels(&[(0, 1)], &[], &[0]).check_complete(2, 2).is_err());
        assert!(labels(&[(0, 1)], &[0, 1], &[0]).check_complete(2, 2).is_err());
        assert!(labels(&[(0, 1), (1, 1)], &[], &[0]).check_complete(2, 2).is_err());
        assert!(labels(&[(0, 1), (1, 0)], &[], &[2]).check_complete(2, 2).is_err());
    }

    #[test]
    fn twins_may_change_places_and_others_may_not() {
        let twins = [vec![0, 1]];
        let one = labels(&[(0, 5), (2, 7)], &[1], &[]);
        let other = labels(&[(1, 5), (2, 7)], &[0], &[]);
        assert_ne!(one, other);
        assert_eq!(one.with_twins_in_order(&twins), other.with_twins_in_order(&twins));
        let crossed = labels(&[(0, 7), (2, 5)], &[1], &[]);
        assert_ne!(one.with_twins_in_order(&twins), crossed.with_twins_in_order(&twins));
    }
}
