//! Where the tempo settles, against what the theory of such rules says.

use evenhand_core::practice::{
    Attempt, AttemptResult, ChunkFacts, Earlier, EventResults, Practice, Rules, Staircase,
};
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::{Seconds, Tempo, Ticks};
use evenhand_tests::learner::{BEAT, Learner, beats};

/// The geometric mean of the tempi over many attempts, after it has settled, and how probably
/// this learner is clean there.
fn settles_at(rules: Rules, seed: u64) -> f64 {
    // Fast beats, so that whole beats a minute are small against a step; a goal out of reach.
    let goal = Tempo::from_beats_per_minute(1_200, BEAT).expect("a tempo");
    let start = Tempo::from_beats_per_minute(450, BEAT);
    let mut learner = Learner::new(600.0, 8.0, seed);
    let mut stairs = Staircase::new(goal, BEAT, rules, start);
    let (mut sum, mut count) = (0.0, 0);
    for attempt in 0..6_000 {
        if attempt >= 500 {
            sum += beats(stairs.tempo()).ln();
            count += 1;
        }
        let clean = learner.play(stairs.tempo());
        stairs.take(clean);
    }
    learner.probability((sum / f64::from(count)).exp())
}

/// Over several seeds: the mean probability of being clean where the tempo settles.
fn target(rules: Rules) -> f64 {
    let seeds = 1..=8;
    seeds.clone().map(|seed| settles_at(rules, seed)).sum::<f64>() / seeds.count() as f64
}

/// Within this of theory. The mean tempo is not quite the tempo at which steps balance: steps
/// are a few per cent wide, and the curve bends over them.
const NEAR: f64 = 0.03;

#[test]
fn equal_steps_settle_where_levitt_computed() {
    // Levitt, "Transformed up-down methods in psychoacoustics", 1971: the n-th root of a half.
    for (in_a_row, levitt) in [(2, 0.707), (3, 0.794), (4, 0.841)] {
        let equal = Rules { in_a_row, up_per_mille: 40, down_per_mille: 40, least_beats: 1 };
        let found = target(equal);
        println!("{in_a_row} in a row, equal steps: {found:.3}; Levitt {levitt}");
        assert!((found - levitt).abs() < NEAR, "{in_a_row} in a row: {found:.3}, not {levitt}");
    }
}

#[test]
fn the_steps_of_the_levels_settle_between_75_and_90_per_cent() {
    for level in [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance] {
        let rules = Rules::of(level);
        // Steps up and down balance where pⁿ · up = (1 − pⁿ) · down (computed).
        let (up, down) = (f64::from(rules.up_per_mille), f64::from(rules.down_per_mille));
        let balance = (down / (up + down)).powf(1.0 / f64::from(rules.in_a_row()));
        let found = target(rules);
        println!("{level:?}: {found:.3}; computed {balance:.3}");
        assert!((found - balance).abs() < NEAR, "{level:?}: {found:.3}, not {balance:.3}");
        assert!((0.75..=0.90).contains(&found), "{level:?}: {found:.3}");
    }
}

/// The share of clean attempts of a whole sitting at one chunk, choices left alone.
fn sitting(level: PracticeLevel, seed: u64) -> f64 {
    let goal = Tempo::from_beats_per_minute(180, BEAT).expect("a tempo");
    let mut practice = Practice::<5>::new();
    let facts = ChunkFacts {
        goal,
        beat: BEAT,
        rules: Rules::of(level),
        fastest_clean: None,
        earlier: Earlier::Unknown,
        notes: 16,
        length: Ticks::new(4 * Ticks::PER_QUARTER),
        splits: false,
        varies: false,
        joins_next: false,
        fingerings: 0,
    };
    practice.add(facts).expect("room for one chunk");
    let mut learner = Learner::new(130.0, 8.0, seed);
    practice.begin(Seconds::ZERO);
    let (mut clean, attempts) = (0_u32, 400_u32);
    for attempt in 1..=attempts {
        let tempo = practice.current().expect("the goal is out of reach").tempo;
        let heard = learner.heard(tempo);
        clean += u32::from(heard == AttemptResult::Clean);
        let ended = Seconds::new(attempt * 10);
        practice.attempt(
            Attempt { result: heard, tempo: None, lasted: Seconds::new(8), ended },
            &EventResults::NONE,
        );
    }
    f64::from(clean) / f64::from(attempts)
}

#[test]
fn a_sitting_is_clean_in_75_to_90_per_cent_of_attempts() {
    for level in [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance] {
        let shares: Vec<f64> = (1..=20).map(|seed| sitting(level, seed)).collect();
        let mean = shares.iter().sum::<f64>() / shares.len() as f64;
        println!("{level:?}: {mean:.3} of attempts clean");
        assert!((0.75..=0.90).contains(&mean), "{level:?}: {mean:.3}");
    }
}
