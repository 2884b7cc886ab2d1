//! Practice in time, one test a rule.

use super::*;
use crate::practice::{Choices, Earlier, Rules};
use crate::study::{ExpectedNote, Metre};
use crate::tolerance::PracticeLevel;
use crate::units::Pitch;

const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

fn at(millis: u64) -> Instant {
    Instant::from_micros(millis * 1_000)
}

fn facts() -> ChunkFacts {
    ChunkFacts {
        goal: Tempo::from_beats_per_minute(100, BEAT).unwrap(),
        beat: BEAT,
        rules: Rules::of(PracticeLevel::First),
        fastest_clean: None,
        earlier: Earlier::Unknown,
        notes: 16,
        length: BEAT,
        splits: true,
        varies: true,
        joins_next: false,
        fingerings: 0,
    }
}

/// Somebody who practises two chunks in 3/4 that begin at 60 a minute.
struct Sitting {
    engine: Engine<10>,
    notes: [ExpectedNote; 1],
}

impl Sitting {
    fn begun(counts: bool) -> Self {
        let mut engine = Engine::new();
        for _ in 0..2 {
            engine.add(facts()).unwrap();
        }
        let task = engine.begin(Pacing::PAGE, counts, at(0)).task.unwrap();
        // Who sets the tempo goes on by steps.
        engine.practice_mut().at_tempo(task.tempo).unwrap();
        let note = ExpectedNote::plain(Ticks::ZERO, BEAT, Pitch::new(60).unwrap());
        Self { engine, notes: [note] }
    }

    fn poll(&mut self, millis: u64, under_way: bool) -> Option<Due> {
        let tempo = self.engine.task()?.tempo;
        let chunk = Chunk::new(&self.notes, tempo).unwrap();
        let chunk = chunk.placed(Metre::new(3, 4).unwrap(), 1, Ticks::ZERO);
        self.engine.poll(at(millis), &chunk, under_way)
    }

    fn attempt(&mut self, heard: AttemptResult, millis: u64) -> Step {
        self.engine.attempt(heard, None, Seconds::new(4), &EventResults::NONE, at(millis))
    }

    /// Polls at the times that it asks for, up to this one.
    fn wait(&mut self, millis: u64) {
        while let Some(due) = self.engine.poll_at().filter(|due| *due <= at(millis)) {
            // A beat may be due between two milliseconds.
            while self.poll(due.as_micros().div_ceil(1_000), false).is_some() {}
        }
    }

    fn is_counted_in(&self) -> bool {
        matches!(self.engine.stage(), Stage::CountIn { .. })
    }
}

#[test]
fn a_heading_is_read_then_a_bar_is_counted_in() {
    let mut sitting = Sitting::begun(true);
    assert_eq!(sitting.engine.poll_at(), Some(at(2_000)));
    assert_eq!(sitting.poll(1_999, false), None);
    let Some(Due::CountIn(beats)) = sitting.poll(2_000, false) else { panic!() };
    assert_eq!(beats.chunk_begins(), at(5_000));
    for (in_bar, time) in [(1, 2_000), (2, 3_000), (3, 4_000)] {
        assert_eq!(sitting.engine.poll_at(), Some(at(time)));
        assert_eq!(sitting.poll(time, false), Some(Due::Beat { in_bar, at: at(time) }));
        assert_eq!(sitting.poll(time, false), None);
    }
    assert_eq!(sitting.poll(5_000, false), Some(Due::Play));
    assert_eq!((sitting.engine.poll_at(), sitting.engine.click()), (None, Some(beats)));
}

#[test]
fn while_the_same_comes_again_the_click_goes_on_and_else_it_is_read_and_counted_in() {
    let mut sitting = Sitting::begun(true);
    sitting.wait(5_000);
    let step = sitting.attempt(AttemptResult::Clean, 10_000);
    assert_eq!(step.reason, Reason::Clean { clean: 1, of: 2 });
    assert!(matches!(sitting.engine.stage(), Stage::Clicking));
    let step = sitting.attempt(AttemptResult::Clean, 15_000);
    assert!(matches!(step.reason, Reason::Faster { .. }));
    // Of what was clean there is little to read.
    assert_eq!(sitting.engine.stage(), Stage::Reading { until: at(17_000) });
    // What is said of another attempt in the meantime is read, too.
    sitting.attempt(AttemptResult::Interrupted, 16_000);
    assert_eq!(sitting.engine.stage(), Stage::Reading { until: at(20_000) });
}

#[test]
fn nobody_is_counted_in_who_plays() {
    let mut sitting = Sitting::begun(true);
    sitting.engine.note(at(1_900));
    assert_eq!(sitting.poll(2_000, false), None);
    sitting.engine.note(at(1_000));
    assert_eq!(sitting.poll(3_390, true), None, "an attempt is under way");
    assert!(matches!(sitting.poll(4_000, false), Some(Due::CountIn(_))));
}

#[test]
fn a_rest_lasts_until_something_is_played() {
    let mut sitting = Sitting::begun(true);
    // Half an hour of playing.
    for minute in 1..=25 {
        sitting.attempt(AttemptResult::Clean, minute * 60_000);
    }
    sitting.engine.note(at(26 * 60_000 - 100));
    let step = sitting.attempt(AttemptResult::Clean, 26 * 60_000);
    assert!(step.rest.is_some());
    assert_eq!(sitting.engine.poll_at(), None);
    assert_eq!(sitting.poll(40 * 60_000, false), None);
    sitting.engine.note(at(40 * 60_000 + 400));
    assert_eq!(sitting.poll(40 * 60_000 + 500, false), None);
    assert!(matches!(sitting.poll(40 * 60_000 + 2_000, false), Some(Due::CountIn(_))));
}

#[test]
fn when_the_sound_changes_it_is_counted_in_anew() {
    let mut sitting = Sitting::begun(true);
    sitting.wait(2_500);
    assert!(sitting.is_counted_in());
    // Still shown: counted in again, after a moment to read that there is no sound.
    sitting.engine.counts(true, at(3_000));
    assert_eq!(sitting.engine.poll_at(), Some(at(5_000)));
    // Neither heard nor shown: nobody is counted in, until it is back.
    sitting.engine.counts(false, at(3_500));
    assert_eq!(sitting.poll(9_000, false), None);
    sitting.engine.counts(true, at(9_000));
    sitting.wait(11_000);
    assert!(sitting.is_counted_in());
}

#[test]
fn without_a_click_nothing_is_ever_due() {
    let mut sitting = Sitting::begun(false);
    assert_eq!((sitting.engine.poll_at(), sitting.poll(9_000, false)), (None, None));
    sitting.attempt(AttemptResult::NotClean, 10_000);
    assert_eq!((sitting.engine.poll_at(), sitting.poll(99_000, false)), (None, None));
}

#[test]
fn chunks_are_gone_to_round_and_round() {
    let mut sitting = Sitting::begun(true);
    let mut piece = |press| sitting.engine.press(press, at(0)).unwrap().task.unwrap().piece;
    assert_eq!(piece(Press::Next), Piece::Chunk(1));
    assert_eq!(piece(Press::Next), Piece::Chunk(0));
    assert_eq!(piece(Press::Back), Piece::Chunk(1));
    assert_eq!(piece(Press::Back), Piece::Chunk(0));
}

#[test]
fn the_same_once_more_is_counted_in_as_soon_as_it_is_quiet() {
    let mut sitting = Sitting::begun(true);
    sitting.wait(5_000);
    sitting.engine.note(at(6_000));
    assert_eq!(sitting.engine.press(Press::Again, at(6_100)), None);
    sitting.wait(7_000);
    assert!(!sitting.is_counted_in());
    sitting.wait(8_000);
    assert!(sitting.is_counted_in());
}

#[test]
fn the_tempo_is_the_players_to_change_and_what_is_about_to_be_said_is_waited_for() {
    let mut sitting = Sitting::begun(true);
    let mut beats = |press| {
        let task = sitting.engine.press(press, at(0)).unwrap().task.unwrap();
        task.tempo.hundredths_of_beats_per_minute(BEAT) / 100
    };
    assert_eq!((beats(Press::Faster), beats(Press::Slower), beats(Press::Slower)), (63, 60, 57));
    sitting.engine.wait(at(1_000));
    assert_eq!(sitting.engine.poll_at(), Some(at(5_000)));
}

#[test]
fn when_it_hurts_it_is_over() {
    let mut sitting = Sitting::begun(true);
    sitting.wait(2_500);
    let step = sitting.engine.press(Press::Hurts, at(2_600)).unwrap();
    assert_eq!((step.task, step.reason), (None, Reason::Hurts));
    assert_eq!((sitting.engine.stage(), sitting.engine.poll_at()), (Stage::Idle, None));
    assert_eq!(sitting.engine.press(Press::Next, at(3_000)), None);
    sitting.engine.press(Press::Again, at(3_000));
    assert_eq!(sitting.engine.stage(), Stage::Idle);
}

#[test]
fn what_was_misheard_is_taken_back_once_and_only_until_something_else_comes() {
    let mut sitting = Sitting::begun(true);
    assert_eq!(sitting.engine.press(Press::Misheard, at(500)), None, "nothing has been played");
    sitting.wait(5_000);
    sitting.attempt(AttemptResult::Clean, 10_000);
    assert_eq!(sitting.engine.press(Press::Misheard, at(10_500)), None, "a pass is none");
    let asked = sitting.engine.task();
    assert_ne!(sitting.attempt(AttemptResult::NotClean, 15_000).task, asked);
    let step = sitting.engine.press(Press::Misheard, at(16_000)).unwrap();
    assert_eq!((step.task, step.reason), (asked, Reason::TakenBack));
    assert_eq!(sitting.engine.stage(), Stage::Reading { until: at(18_000) });
    assert_eq!(sitting.engine.press(Press::Misheard, at(16_500)), None, "twice");
    let step = sitting.attempt(AttemptResult::Clean, 25_000);
    assert!(matches!(step.reason, Reason::Faster { clean: 2, .. }), "the row was not broken");
    for press in [Press::Next, Press::Slower, Press::Choose(Choice::Rhythm), Press::Hurts] {
        sitting.attempt(AttemptResult::NotClean, 40_000);
        assert!(sitting.engine.press(press, at(41_000)).is_some());
        assert_eq!(sitting.engine.press(Press::Misheard, at(42_000)), None, "after {press:?}");
    }
}

#[test]
fn a_click_that_goes_on_and_a_rest_stay_when_an_attempt_is_taken_back() {
    let mut sitting = Sitting::begun(true);
    sitting.wait(5_000);
    sitting.attempt(AttemptResult::Unclear, 10_000);
    assert!(sitting.engine.press(Press::Misheard, at(11_000)).is_some());
    assert_eq!(sitting.engine.stage(), Stage::Clicking);
    for minute in 1..=26 {
        sitting.attempt(AttemptResult::NotClean, minute * 60_000);
    }
    let resting = sitting.engine.stage();
    assert!(matches!(resting, Stage::Resting { .. }));
    assert!(sitting.engine.press(Press::Misheard, at(26 * 60_000 + 1_000)).is_some());
    assert_eq!(sitting.engine.stage(), resting, "the hands have played all the same");
}

/// What an engine asks for, but for rests: these count what the hands have done.
fn asked(step: Step) -> (Option<Task>, Reason, Choices) {
    (step.task, step.reason, step.offer)
}

/// One thing that a player does, by chance.
fn something(engine: &mut Engine<60>, chance: &mut u64, now: Instant) -> Option<Step> {
    let attempt = |engine: &mut Engine<60>, result| {
        Some(engine.attempt(result, None, Seconds::new(4), &EventResults::NONE, now))
    };
    match below(chance, 24) {
        0..=9 => attempt(engine, AttemptResult::Clean),
        10..=15 => attempt(engine, AttemptResult::NotClean),
        16 => attempt(engine, AttemptResult::Unclear),
        17 => attempt(engine, AttemptResult::Interrupted),
        18 => engine.press(Press::Next, now),
        19 => engine.press(Press::Faster, now),
        choice => Choice::ALL
            .get(choice as usize - 20)
            .filter(|choice| **choice != Choice::Stop)
            .and_then(|choice| engine.press(Press::Choose(*choice), now)),
    }
}

/// A number below `limit`, by a linear congruential generator (Knuth's constants for MMIX).
fn below(chance: &mut u64, limit: u64) -> u64 {
    *chance =
        chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*chance >> 33) % limit
}

#[test]
fn played_and_taken_back_is_not_played() {
    let mut taken_back = [0; 3];
    for seed in 0..300_u64 {
        let mut chance = seed;
        let mut engine: Engine<60> = Engine::new();
        for _ in 0..3 {
            engine.add(ChunkFacts { joins_next: true, fingerings: 1, ..facts() }).unwrap();
        }
        engine.begin(Pacing::PAGE, true, at(0));
        let mut now = 0;
        for _ in 0..below(&mut chance, 60) {
            now += 8_000 + below(&mut chance, 40_000);
            something(&mut engine, &mut chance, at(now));
        }
        let results = [AttemptResult::NotClean, AttemptResult::Unclear, AttemptResult::Interrupted];
        let which = below(&mut chance, 3) as usize;
        let mut other = engine.clone();
        other.attempt(results[which], None, Seconds::new(4), &EventResults::NONE, at(now + 5_000));
        if engine.task().is_none() {
            continue;
        }
        let step = other.press(Press::Misheard, at(now + 7_000)).expect("it is taken back");
        taken_back[which] += 1;
        assert_eq!(step.task, engine.task(), "seed {seed}");
        // Whatever comes then, both say the same of it.
        for _ in 0..60 {
            now += 8_000 + below(&mut chance, 40_000);
            let mut same = chance;
            let one = something(&mut engine, &mut chance, at(now));
            let two = something(&mut other, &mut same, at(now));
            assert_eq!(one.map(asked), two.map(asked), "seed {seed}");
        }
    }
    assert!(taken_back.iter().all(|count| *count > 50), "{taken_back:?}");
}

#[test]
fn nobody_is_counted_in_while_something_is_said_or_heard() {
    let mut sitting = Sitting::begun(true);
    // What is read is read for longer, not shorter.
    sitting.engine.hold(at(1_000));
    assert_eq!(sitting.engine.poll_at(), Some(at(2_000)));
    sitting.engine.hold(at(5_000));
    assert_eq!(sitting.poll(4_999, false), None);
    assert!(matches!(sitting.poll(5_000, false), Some(Due::CountIn(_))));
    assert!(matches!(sitting.poll(5_000, false), Some(Due::Beat { in_bar: 1, .. })));
    // A count-in ends for it, and so does a click that goes on.
    sitting.engine.hold(at(6_000));
    assert_eq!((sitting.engine.click(), sitting.poll(5_999, false)), (None, None));
    assert!(matches!(sitting.poll(6_000, false), Some(Due::CountIn(_))));
    while sitting.poll(12_000, false).is_some() {}
    assert_eq!(sitting.engine.stage(), Stage::Clicking);
    sitting.engine.hold(at(13_000));
    assert_eq!(sitting.engine.stage(), Stage::Reading { until: at(13_000) });
    // Where nobody is counted in there is nothing to hold.
    let mut open = Sitting::begun(false);
    open.engine.hold(at(60_000));
    assert_eq!(open.engine.stage(), Stage::Open);
}

#[test]
fn what_is_offered_stands_until_somebody_plays_on() {
    let mut sitting = Sitting::begun(true);
    let mut now = 10_000;
    sitting.wait(now);
    for _ in 0..12 {
        let step = sitting.attempt(AttemptResult::NotClean, now);
        assert_eq!(sitting.engine.offered(), step.offer);
        if !step.offer.is_empty() {
            break;
        }
        now += 20_000;
        sitting.wait(now);
    }
    assert!(!sitting.engine.offered().is_empty(), "something is offered");
    // It is read, and counted in; then it has lapsed.
    sitting.wait(now + 4_500);
    assert!(sitting.is_counted_in() && !sitting.engine.offered().is_empty());
    sitting.wait(now + 20_000);
    assert_eq!(sitting.engine.stage(), Stage::Clicking);
    assert!(sitting.engine.offered().is_empty());
    // Whoever asks gets it again, with time to read it, until something else is asked for.
    let asked = sitting.engine.offer(at(now + 21_000));
    assert!(!asked.is_empty() && asked == sitting.engine.offered());
    assert_eq!(sitting.engine.poll_at(), Some(at(now + 25_000)));
    sitting.engine.press(Press::Next, at(now + 22_000));
    assert!(sitting.engine.offered().is_empty());
}
