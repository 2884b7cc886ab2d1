//! One test a rule.

extern crate std;

mod joining;
mod sitting;
mod stairs;
mod warming;

use super::*;
use crate::tolerance::PracticeLevel;
use crate::units::{Seconds, Tempo, Ticks};

const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

fn beats(beats: u32) -> Tempo {
    Tempo::from_beats_per_minute(beats, BEAT).unwrap()
}

fn facts(goal: u32) -> ChunkFacts {
    ChunkFacts {
        goal: beats(goal),
        beat: BEAT,
        rules: Rules::of(PracticeLevel::First),
        fastest_clean: None,
        earlier: Earlier::Unknown,
        notes: 16,
        length: Ticks::new(8 * Ticks::PER_QUARTER),
        splits: true,
        varies: true,
        joins_next: true,
        fingerings: 1,
    }
}

/// A sitting with its clock.
struct Sitting {
    practice: Practice<60>,
    now: u32,
}

impl Sitting {
    fn of(chunks: &[ChunkFacts]) -> Self {
        let mut practice = Practice::new();
        for facts in chunks {
            practice.add(*facts).unwrap();
        }
        practice.begin(Seconds::ZERO);
        Self { practice, now: 0 }
    }

    /// The same, begun with a warm-up on this chunk.
    fn warmed(chunks: &[ChunkFacts], on: u8) -> (Self, Result<Step, NotPossible>) {
        let mut practice = Practice::new();
        for facts in chunks {
            practice.add(*facts).unwrap();
        }
        let step = practice.warm_up(Piece::Chunk(on), Seconds::ZERO);
        (Self { practice, now: 0 }, step)
    }

    /// The same where the player has set the tempo of the first chunk, so that it goes on by steps.
    fn placed(chunks: &[ChunkFacts]) -> Self {
        let mut sitting = Self::of(chunks);
        let tempo = sitting.task().tempo;
        sitting.practice.at_tempo(tempo).unwrap();
        sitting
    }

    /// One attempt, ten seconds long: `c` is clean, `-` is not, `?` is unclear, `/` is broken off.
    fn one(&mut self, heard: char) -> Step {
        self.shows(heard, &EventResults::NONE)
    }

    /// The same with what it showed of each event.
    fn shows(&mut self, heard: char, results: &EventResults) -> Step {
        self.now += 10;
        let heard = match heard {
            'c' => AttemptResult::Clean,
            '-' => AttemptResult::NotClean,
            '?' => AttemptResult::Unclear,
            _ => AttemptResult::Interrupted,
        };
        let ended = Seconds::new(self.now);
        self.practice.attempt(
            Attempt { result: heard, tempo: None, lasted: Seconds::new(8), ended },
            results,
        )
    }

    /// Some attempts; the step after the last.
    fn play(&mut self, attempts: &str) -> Step {
        attempts.chars().map(|heard| self.one(heard)).last().unwrap()
    }

    fn choose(&mut self, choice: Choice) -> Result<Step, NotPossible> {
        self.practice.choose(choice, Seconds::new(self.now))
    }

    fn task(&self) -> Task {
        self.practice.current().unwrap()
    }

    /// Beats a minute, rounded.
    fn tempo(&self) -> u32 {
        (self.task().tempo.hundredths_of_beats_per_minute(BEAT) + 50) / 100
    }
}
