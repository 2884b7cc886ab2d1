//! Seeded mistakes in a human performance: the judge's counts against the truth and against
//! mir_eval 0.8.2, `transcription.match_notes`.
//!
//! Where the definitions differ:
//! - mir_eval knows no wrong notes. A wrong pitch is one missed reference note and one extra
//!   estimated note there, so its missed notes are our missing and wrong ones together, and its
//!   extra notes are our extra and wrong ones together.
//! - mir_eval compares times on one clock and removes no lag or tempo. So the score is first
//!   laid onto the performance's own timing: every written note gets the time at which the
//!   performance, before the mistakes were put in, played its step (the mean onset of the notes
//!   written there). What remains is the spread of the chords.
//! - mir_eval maximises the number of pairs and does not promise which of several equal pairings
//!   it gives. With a tolerance under half the time between any two equal pitches there is
//!   only one, so then the pairs have to agree, not just their number.

use std::collections::{BTreeMap, BTreeSet};

use evenhand_tests::attempt::{Attempt, Role};
use evenhand_tests::faults::{Mistakes, with_mistakes};
use evenhand_tests::matchfile::{self, Match};
use evenhand_tests::outside;
use evenhand_tests::program::{Channels, judge};
use evenhand_tests::seeded::Seeded;
use serde_json::{Value, json};

/// In seconds. Above the largest distance of a note from its step (31 ms) and below half of the
/// shortest time between equal pitches (137 ms); `the_tolerance_leaves_one_pairing` checks both.
const ONSET_TOLERANCE: f64 = 0.045;

/// An attempt before and after the mistakes.
struct Case {
    name: String,
    clean: Attempt,
    faulty: Attempt,
}

fn performance() -> Match {
    matchfile::parse(&outside::data("mozart_k265_var1.match")).expect("the match file reads")
}

/// Twenty seeds on the whole piece, and three on each window of eight bars.
fn cases() -> Vec<Case> {
    let performance = performance();
    let mut cases = Vec::new();
    let mut add = |name: String, clean: Attempt, mistakes: Mistakes, seeded: &mut Seeded| {
        let faulty = with_mistakes(&clean, mistakes, seeded);
        cases.push(Case { name, clean, faulty });
    };
    for seed in 0..20 {
        let mut seeded = Seeded::new(seed);
        let mut number = || seeded.between(3, 6) as usize;
        let mistakes = Mistakes { missing: number(), wrong: number(), extra: number() };
        add(format!("whole, seed {seed}"), performance.window(1, 24), mistakes, &mut seeded);
    }
    for (seed, first) in (100..).zip((1..=17).cycle().take(3 * 17)) {
        let mut seeded = Seeded::new(seed);
        let mistakes = Mistakes { missing: 3, wrong: 3, extra: 3 };
        let name = format!("bars {first} to {}, seed {seed}", first + 7);
        add(name, performance.window(first, 8), mistakes, &mut seeded);
    }
    cases
}

/// Onset in seconds and pitch of every expected note, on the performance's own timing.
fn reference(clean: &Attempt) -> Vec<(f64, u8)> {
    let mut steps: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
    for note in &clean.played {
        if let Role::Plays(expected) = note.role {
            let onset = clean.expected[expected].onset;
            steps.entry(onset).or_default().push(f64::from(note.onset) / 1e6);
        }
    }
    let mean = |times: &Vec<f64>| times.iter().sum::<f64>() / times.len() as f64;
    clean.expected.iter().map(|note| (mean(&steps[&note.onset]), note.pitch)).collect()
}

/// Onset in seconds and pitch of every played note.
fn estimate(faulty: &Attempt) -> Vec<(f64, u8)> {
    faulty.played.iter().map(|note| (f64::from(note.onset) / 1e6, note.pitch)).collect()
}

/// The pairs that mir_eval finds in each case.
fn matched(cases: &[Case]) -> Vec<BTreeSet<(usize, usize)>> {
    let question: Vec<Value> = cases
        .iter()
        .map(
            |case| json!({"reference": reference(&case.clean), "estimate": estimate(&case.faulty)}),
        )
        .collect();
    let question = json!({"onset_tolerance": ONSET_TOLERANCE, "cases": question});
    let answer = outside::ask("match_notes.py", &question);
    let answers: Vec<BTreeSet<(usize, usize)>> =
        serde_json::from_value(answer["cases"].clone()).expect("pairs of numbers");
    assert_eq!(answers.len(), cases.len());
    answers
}

pub(crate) fn the_tolerance_leaves_one_pairing() {
    for Case { name, clean, faulty } in cases() {
        let reference = reference(&clean);
        for (onset, note) in estimate(&faulty).iter().zip(&faulty.played).map(|(e, n)| (e.0, n)) {
            if let Some(expected) = note.role.expected() {
                let distance = (onset - reference[expected].0).abs();
                assert!(distance < ONSET_TOLERANCE, "{name}: {distance} s from its step");
            }
        }
        for (i, (onset, pitch)) in reference.iter().enumerate() {
            for (other, _) in reference[i + 1..].iter().filter(|note| note.1 == *pitch) {
                let distance = (onset - other).abs();
                assert!(
                    distance > 2.0 * ONSET_TOLERANCE,
                    "{name}: equal pitches {distance} s apart"
                );
            }
        }
    }
}

pub(crate) fn mistakes_are_counted_as_in_truth_and_as_by_mir_eval() {
    let cases = cases();
    let mut complaints = String::new();
    for (case, matched) in cases.iter().zip(matched(&cases)) {
        let Case { name, faulty, .. } = case;
        let judged = match judge(faulty, Channels::One) {
            Ok(judged) => judged.labels,
            Err(error) => {
                complaints += &format!("{name}: {error}\n");
                continue;
            }
        };
        let truth = faulty.truth();
        let counts = judged.counts();
        let differences = judged.differences(&truth, faulty, false);
        if counts != truth.counts() {
            let truth = truth.counts();
            complaints += &format!("{name}: {counts:?}, in truth {truth:?}\n{differences}");
        }
        let missed = faulty.expected.len() - matched.len();
        let extra = faulty.played.len() - matched.len();
        if counts.missing + counts.wrong != missed || counts.extra + counts.wrong != extra {
            complaints += &format!(
                "{name}: {counts:?}, but mir_eval misses {missed} and has {extra} extra\n"
            );
        }
        let only_ours: Vec<_> = judged.pairs.difference(&matched).collect();
        if !only_ours.is_empty() {
            complaints += &format!("{name}: mir_eval lacks {only_ours:?}\n{differences}");
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
}
