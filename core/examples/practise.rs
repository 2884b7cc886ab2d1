//! Practises a chunk from slow to its goal: verdicts in, the next tempo out.
//!
//! Whoever plays here misses notes above 84 beats a minute on the first day, and nothing below.
//!
//! `cargo run -p evenhand-core --example practise`

// The judge itself never panics; an example may, where its own figures are wrong.
#![allow(clippy::expect_used, clippy::indexing_slicing)]

use evenhand_core::practice::{
    Attempt, AttemptResult, ChunkFacts, Earlier, EventResults, Practice, Reason, Rules,
};
use evenhand_core::{PracticeLevel, Seconds, Tempo, Ticks};

const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

fn tempo(beats: u32) -> Tempo {
    Tempo::from_beats_per_minute(beats, BEAT).expect("a tempo to play at")
}

fn main() {
    // Room for one chunk and what becomes of it: two halves.
    let mut practice: Practice<3> = Practice::new();
    practice
        .add(ChunkFacts {
            goal: tempo(90),
            beat: BEAT,
            rules: Rules::of(PracticeLevel::First),
            fastest_clean: None,
            earlier: Earlier::Unknown,
            notes: 8,
            length: Ticks::new(4 * BEAT.get()),
            splits: true,
            varies: true,
            joins_next: false,
            fingerings: 0,
        })
        .expect("there is room for it");

    let mut now = Seconds::new(0);
    let mut step = practice.begin(now);
    let mut attempts = 0;
    while let Some(task) = step.task {
        let beats = task.tempo.hundredths_of_beats_per_minute(BEAT) / 100;
        println!("{beats:3} beats a minute: {:?} ({:?})", task.piece, step.reason);
        attempts += 1;
        assert!(attempts < 60, "an hour is enough");
        now = Seconds::new(now.get() + 20);
        let is_clean = beats <= 84 || attempts > 12;
        let result = if is_clean { AttemptResult::Clean } else { AttemptResult::NotClean };
        let lasted = Seconds::new(4 * 60 / beats);
        step = practice.attempt(
            Attempt { result, tempo: Some(task.tempo), lasted, ended: now },
            &EventResults::NONE,
        );
    }
    println!("over: {:?}", step.reason);
    assert_eq!(step.reason, Reason::AllAtGoal);
}

#[test]
fn it_runs() {
    main();
}
