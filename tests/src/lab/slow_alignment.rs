//! A slow and thorough alignment to hold the judge's against: the likeliest of all explanations
//! (Viterbi 1967) with the tempo as a part of the state, in floating point, for lines of single
//! notes. It shares nothing with the judge but the idea that a note is played, missing or extra.

use crate::attempt::Attempt;
use crate::labels::Labels;

/// Tempi from half to twice the written one, a 24th of an octave apart.
const TEMPI: usize = 49;
/// Notes that may be missing, or extra, between two that were played, and one.
const AHEAD: usize = 7;
/// How far the count of played notes may be from that of written ones.
const BAND: usize = 36;
/// In natural logarithms of likelihood, all our choices: a note left out, or added; a wrong one;
/// the most that an onset's time can cost; a step of tempo.
const LEFT_OUT: f64 = 6.0;
const WRONG: f64 = 9.0;
const LATE_AT_MOST: f64 = 4.0;
const TEMPO_STEP: f64 = 1.2;
/// Standard deviation of an interval, in microseconds, and in shares of the interval.
const SCATTER: (f64, f64) = (20_000.0, 0.06);

/// Cost by tempo, and where each came from: the tempo before a change of tempo, and for that one
/// the played and the expected note before.
#[derive(Clone)]
struct State {
    cost: [f64; TEMPI],
    tempo: [usize; TEMPI],
    from: [Option<(usize, usize)>; TEMPI],
}

/// What the notes of an attempt without chords are.
pub(super) fn labels(attempt: &Attempt) -> Labels {
    let (played, expected) = (attempt.played.len(), attempt.expected.len());
    let slower: [f64; TEMPI] =
        std::array::from_fn(|tempo| ((tempo as f64 - (TEMPI / 2) as f64) / 24.0).exp2());
    let mut states: Vec<Option<State>> = vec![None; played * expected];
    for by in 0..played {
        for note in by.saturating_sub(BAND)..expected.min(by + BAND) {
            states[by * expected + note] = Some(reached(attempt, &states, &slower, (by, note)));
        }
    }
    let ends = states.iter().enumerate().filter_map(|(index, state)| {
        let (by, note) = (index / expected, index % expected);
        let rest = LEFT_OUT * (played - 1 - by + expected - 1 - note) as f64;
        let state = state.as_ref()?;
        let tempo = (0..TEMPI).min_by(|&a, &b| state.cost[a].total_cmp(&state.cost[b]))?;
        Some((state.cost[tempo] + rest, (by, note), tempo))
    });
    let mut labels = Labels {
        missing: (0..expected).collect(),
        extra: (0..played).collect(),
        ..Labels::default()
    };
    let end = ends.min_by(|a, b| a.0.total_cmp(&b.0));
    let (mut at, mut tempo) = (end.map(|end| end.1), end.map_or(0, |end| end.2));
    while let Some((by, note)) = at {
        let right = attempt.played[by].pitch == attempt.expected[note].pitch;
        let pairs = if right { &mut labels.pairs } else { &mut labels.wrong };
        pairs.insert((note, by));
        labels.missing.remove(&note);
        labels.extra.remove(&by);
        let state = states[by * expected + note].as_ref().expect("it was reached");
        tempo = state.tempo[tempo];
        at = state.from[tempo];
    }
    labels
}

/// The likeliest ways, at tempi so much slower than the written one, on which `by` plays `note`.
fn reached(
    attempt: &Attempt,
    states: &[Option<State>],
    slower: &[f64; TEMPI],
    (by, note): (usize, usize),
) -> State {
    let right = attempt.played[by].pitch == attempt.expected[note].pitch;
    let here = if right { 0.0 } else { WRONG };
    let first = here + LEFT_OUT * (by + note) as f64;
    let middle = TEMPI / 2;
    let mut cost = [0.0; TEMPI];
    for (tempo, cost) in cost.iter_mut().enumerate() {
        *cost = first + 0.1 * tempo.abs_diff(middle) as f64;
    }
    let mut from = [None; TEMPI];
    for extra in 1..=AHEAD.min(by) {
        for missing in 1..=AHEAD.min(note) {
            let before = (by - extra, note - missing);
            let Some(state) = &states[before.0 * attempt.expected.len() + before.1] else {
                continue;
            };
            let passed = attempt.played[by].onset - attempt.played[before.0].onset;
            let ticks = attempt.expected[note].onset - attempt.expected[before.1].onset;
            let written = f64::from(ticks) * f64::from(attempt.micros_per_quarter)
                / f64::from(crate::attempt::TICKS_PER_QUARTER);
            let between = here + LEFT_OUT * (extra + missing - 2) as f64;
            for tempo in 0..TEMPI {
                let due = written * slower[tempo];
                let late = f64::from(passed) - due;
                let deviation = SCATTER.0 + SCATTER.1 * due;
                let unlikely = (late * late / (2.0 * deviation * deviation)).min(LATE_AT_MOST);
                let whole = state.cost[tempo] + between + unlikely;
                if whole < cost[tempo] {
                    (cost[tempo], from[tempo]) = (whole, Some(before));
                }
            }
        }
    }
    // From here on the tempo may have changed.
    let mut tempo: [usize; TEMPI] = std::array::from_fn(|tempo| tempo);
    let up = (1..TEMPI).map(|to| (to - 1, to));
    let down = (1..TEMPI).rev().map(|from| (from, from - 1));
    for (before, after) in up.chain(down) {
        if cost[before] + TEMPO_STEP < cost[after] {
            (cost[after], tempo[after]) = (cost[before] + TEMPO_STEP, tempo[before]);
        }
    }
    State { cost, tempo, from }
}
