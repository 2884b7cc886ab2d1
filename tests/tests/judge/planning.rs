//! Whatever comes, a sitting of practice keeps its promises.

use evenhand_core::practice::{
    Attempt, AttemptResult, Choice, ChunkFacts, Earlier, EventResults, NotPossible, Piece,
    Practice, Reason, Rules, Side, Spot, Step, WrongPitch,
};
use evenhand_core::units::{Pitch, Seconds, Tempo, Ticks};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::RngSeed;

fn config(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1_971),
        ..ProptestConfig::default()
    }
}

fn tempo() -> impl Strategy<Value = Tempo> {
    (40_000..=6_000_000_u32).prop_filter_map("a tempo", Tempo::from_micros_per_quarter)
}

/// Any rules at all, nonsense included.
fn rules() -> impl Strategy<Value = Rules> {
    let sane = select(vec![(2_u8, 70_u16), (3, 50), (4, 50)]);
    let sane = sane.prop_map(|(in_a_row, down_per_mille)| Rules {
        in_a_row,
        up_per_mille: 40,
        down_per_mille,
        least_beats: 2,
    });
    let any = any::<(u8, u16, u16, u8)>().prop_map(|(in_a_row, up, down, least_beats)| Rules {
        in_a_row,
        up_per_mille: up,
        down_per_mille: down,
        least_beats,
    });
    prop_oneof![3 => sane, 1 => any]
}

fn facts() -> impl Strategy<Value = ChunkFacts> {
    let beat = select(vec![0, 1_260, 5_040, 10_080, 15_120, 40_320]);
    let earlier = select(vec![Earlier::Unknown, Earlier::NotPassed, Earlier::Passed]);
    let size = (1..=300_u16, 0..=400_u32);
    (tempo(), beat, rules(), of(tempo()), earlier, size, any::<(bool, bool, bool)>(), 0..=3_u8)
        .prop_map(|(goal, beat, rules, fastest_clean, earlier, size, flags, fingerings)| {
            let (splits, varies, joins_next) = flags;
            ChunkFacts {
                goal,
                beat: Ticks::new(beat),
                rules,
                fastest_clean,
                earlier,
                notes: size.0,
                length: Ticks::new(size.1 * Ticks::PER_QUARTER),
                splits,
                varies,
                joins_next,
                fingerings,
            }
        })
}

/// What a caller can do.
#[derive(Clone, Debug)]
enum Deed {
    Play(AttemptResult, Option<Tempo>, u32, u32, EventResults),
    Choose(Choice),
    GoTo(Piece),
    Recall(Piece, Option<Tempo>),
    Begin,
    Hurts,
}

fn piece() -> impl Strategy<Value = Piece> {
    let join = (0..8_u8, 0..8_u8, 0..8_u8);
    prop_oneof![
        any::<u8>().prop_map(Piece::Chunk),
        (0..8_u8, select(vec![Side::First, Side::Second])).prop_map(|(c, s)| Piece::Half(c, s)),
        any::<u8>().prop_map(Piece::Seam),
        join.prop_map(|(first, seam, last)| Piece::Join { first, seam, last }),
    ]
}

/// What an attempt shows of each event: mostly the same places fail, so that some turn out to be hard.
fn results() -> impl Strategy<Value = EventResults> {
    let events = select(vec![0_u8, 1, 5, 16, 16, 16, 40, 255]);
    let failed = vec(prop_oneof![3 => Just(6_u8), 1 => any::<u8>()], 0..4);
    let wrong = of((select(vec![2_u8, 6, 200]), 60..64_u8));
    (events, failed, wrong, any::<u8>(), 0..4_u8).prop_map(|(events, failed, wrong, at, kind)| {
        let mut results = match kind {
            0 => EventResults::NONE,
            1 => EventResults::stopped(events, at % 8),
            _ => EventResults::clean(events),
        };
        failed.iter().for_each(|event| results.fail(*event));
        match wrong {
            Some((event, played)) => {
                let pitch = |number| Pitch::new(number).expect("a pitch");
                results.with_wrong(WrongPitch { event, written: pitch(50), played: pitch(played) })
            }
            None => results,
        }
    })
}

fn deed() -> impl Strategy<Value = Deed> {
    let heard = prop_oneof![
        6 => Just(AttemptResult::Clean),
        3 => Just(AttemptResult::NotClean),
        1 => Just(AttemptResult::Unclear),
        1 => Just(AttemptResult::Interrupted),
    ];
    // Time mostly goes on, and now and then is nonsense.
    let ended = prop_oneof![9 => 1..=200_u32, 1 => any::<u32>()];
    let played = prop_oneof![9 => Just(None), 1 => of(tempo())];
    prop_oneof![
        400 => (heard, played, 0..=60_u32, ended, results())
            .prop_map(|(h, t, l, e, r)| Deed::Play(h, t, l, e, r)),
        40 => select(Choice::ALL[..4].to_vec()).prop_map(Deed::Choose),
        20 => piece().prop_map(Deed::GoTo),
        10 => (piece(), of(tempo())).prop_map(|(piece, tempo)| Deed::Recall(piece, tempo)),
        5 => Just(Deed::Begin),
        1 => Just(Deed::Choose(Choice::Stop)),
        1 => Just(Deed::Hurts),
    ]
}

/// The slowest and the fastest tempo that a piece of these chunks may be given.
fn limits(chunks: &[ChunkFacts], piece: Piece) -> (Tempo, Tempo) {
    let (first, last) = match piece {
        Piece::Chunk(chunk) | Piece::Half(chunk, _) => (chunk, chunk),
        Piece::Seam(chunk) => (chunk, chunk + 1),
        Piece::Join { first, last, .. } | Piece::Spot(Spot { first, last, .. }) => (first, last),
    };
    let goals = chunks[usize::from(first)..=usize::from(last)].iter().map(|facts| facts.goal);
    let goal = goals.reduce(Tempo::slower).expect("a chunk at least");
    let beat = chunks[usize::from(first)].beat;
    let beat = if beat == Ticks::ZERO { Ticks::new(Ticks::PER_QUARTER) } else { beat };
    (goal.at_per_mille(300).in_whole_beats(beat).slower(goal), goal)
}

fn keeps_promises(chunks: &[ChunkFacts], step: &Step) {
    let Some(task) = step.task else {
        let over = [Reason::AllAtGoal, Reason::Stopped, Reason::Hurts, Reason::Nothing];
        assert!(over.contains(&step.reason), "{step:?}");
        assert!(step.offer.is_empty(), "nothing is offered when practice is over");
        return;
    };
    let (slowest, goal) = limits(chunks, task.piece);
    assert!(!task.tempo.is_slower_than(slowest), "{task:?} is slower than {slowest:?}");
    assert!(!goal.is_slower_than(task.tempo), "{task:?} is faster than {goal:?}");
    if let Piece::Join { first, seam, last } = task.piece {
        assert!(first <= seam && seam < last && usize::from(last) < chunks.len());
    }
    if !step.offer.is_empty() {
        assert!(step.offer.has(Choice::Stop), "stopping is always among what is offered");
    }
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn nothing_that_is_done_breaks_a_sitting(
        chunks in vec(facts(), 0..=7),
        deeds in vec(deed(), 0..=300),
    ) {
        let mut practice = Practice::<36>::new();
        for facts in &chunks {
            prop_assert!(practice.add(*facts).is_ok());
        }
        let mut now = 0_u32;
        let mut over = None;
        for deed in deeds {
            let before = practice.current();
            let step = match deed {
                Deed::Play(heard, tempo, lasted, ended, results) => {
                    now = now.wrapping_add(ended);
                    let (lasted, ended) = (Seconds::new(lasted), Seconds::new(now));
                    Some(practice.attempt(Attempt { result: heard, tempo, lasted, ended }, &results))
                }
                Deed::Choose(choice) => {
                    let possible = practice.choices().has(choice);
                    let step = practice.choose(choice, Seconds::new(now));
                    prop_assert!(possible || step.is_err());
                    if step.is_err() {
                        prop_assert_eq!(practice.current(), before, "a refusal changes nothing");
                    }
                    step.ok()
                }
                Deed::GoTo(piece) => practice.go_to(piece, Seconds::new(now)).ok(),
                Deed::Recall(piece, tempo) => {
                    let _refused_or_not = practice.recall(piece, tempo, Earlier::Passed);
                    None
                }
                Deed::Begin => Some(practice.begin(Seconds::new(now))),
                Deed::Hurts => {
                    let step = practice.hurts();
                    prop_assert_eq!(step.task, None);
                    Some(step)
                }
            };
            let Some(step) = step else { continue };
            prop_assert_eq!(step.task, practice.current());
            keeps_promises(&chunks, &step);
            if over.is_some() {
                prop_assert_eq!(step.task, None, "what is over stays over");
            }
            if step.task.is_none() {
                over = Some(step.reason);
                prop_assert_eq!(practice.choose(Choice::Rhythm, Seconds::new(now)), Err(NotPossible::Over));
            }
        }
    }

    #[test]
    fn what_is_unclear_or_broken_off_moves_nothing(
        chunks in vec(facts(), 1..=4),
        clean in vec(any::<bool>(), 0..=40),
        unsettled in vec(any::<bool>(), 1..=30),
    ) {
        let mut practice = Practice::<20>::new();
        for facts in &chunks {
            practice.add(*facts).expect("there is room");
        }
        let mut now = 0;
        let mut play = |practice: &mut Practice<20>, heard| {
            now += 10;
            let ended = Seconds::new(now);
            practice.attempt(Attempt { result: heard, tempo: None, lasted: Seconds::new(5), ended }, &EventResults::NONE)
        };
        for clean in clean {
            play(&mut practice, if clean { AttemptResult::Clean } else { AttemptResult::NotClean });
        }
        practice.begin(Seconds::ZERO);
        let (task, pieces) = (practice.current(), practice.pieces().collect::<Vec<_>>());
        for unclear in unsettled {
            play(&mut practice, if unclear { AttemptResult::Unclear } else { AttemptResult::Interrupted });
            prop_assert_eq!(practice.current(), task);
            prop_assert_eq!(practice.pieces().collect::<Vec<_>>(), pieces.clone());
        }
    }

    #[test]
    fn a_player_who_is_clean_comes_to_an_end(chunks in vec(facts(), 1..=7)) {
        let mut practice = Practice::<36>::new();
        for facts in &chunks {
            // More in a row, or steps of no size, would only take longer.
            let Rules { in_a_row, up_per_mille, .. } = facts.rules;
            let (in_a_row, up_per_mille) = (in_a_row % 5, up_per_mille.max(20));
            let rules = Rules { in_a_row, up_per_mille, ..facts.rules };
            practice.add(ChunkFacts { rules, ..*facts }).expect("there is room");
        }
        let mut now = 0_u32;
        while practice.current().is_some() || now == 0 {
            now += 10;
            prop_assert!(now < 200_000, "practice does not end");
            let ended = Seconds::new(now);
            let heard = AttemptResult::Clean;
            practice.attempt(Attempt { result: heard, tempo: None, lasted: Seconds::new(5), ended }, &EventResults::NONE);
        }
        let step = practice.begin(Seconds::new(now));
        prop_assert_eq!(step.reason, Reason::AllAtGoal);
        for (index, facts) in chunks.iter().enumerate() {
            let at = practice
                .pieces()
                .filter(|(piece, _, passed)| *passed && held(*piece, index))
                .filter_map(|(_, fastest, _)| fastest);
            prop_assert!(at.count() > 0, "chunk {} ({:?}) was never clean", index, facts);
        }
    }
}

fn held(piece: Piece, chunk: usize) -> bool {
    piece
        .chunks()
        .is_some_and(|(first, last)| (usize::from(first)..=usize::from(last)).contains(&chunk))
}
