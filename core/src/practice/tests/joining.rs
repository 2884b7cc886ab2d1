//! Halves into chunks, chunks into lines.

use super::*;

const fn join(first: u8, seam: u8, last: u8) -> Piece {
    Piece::Join { first, seam, last }
}

#[test]
fn a_chunk_that_is_too_long_comes_back_when_both_halves_are_clean() {
    let mut sitting = Sitting::of(&[facts(100)]);
    sitting.choose(Choice::Shorter).unwrap();
    assert_eq!(sitting.task().piece, Piece::Half(0, Side::First));
    assert_eq!(sitting.tempo(), 60);
    let step = sitting.play("cc");
    assert_eq!(step.reason, Reason::OtherHalf);
    assert_eq!(sitting.task().piece, Piece::Half(0, Side::Second));
    assert_eq!(sitting.play("-").reason, Reason::Slower { from: beats(60) });
    let step = sitting.play("cc");
    // The second half was clean at 56; the whole goes on at the tempo that it had before.
    assert_eq!(step.reason, Reason::Join { slower: beats(56), settled: false });
    assert_eq!((sitting.task().piece, sitting.tempo()), (Piece::Chunk(0), 60));
}

#[test]
fn neighbours_that_are_clean_today_are_joined_to_try_it() {
    let mut sitting = Sitting::of(&[facts(100); 2]);
    let mut step = sitting.practice.begin(Seconds::ZERO);
    for heard in "ccc-".chars().cycle().take(160) {
        if matches!(step.reason, Reason::Join { .. }) {
            break;
        }
        step = sitting.one(heard);
    }
    let Reason::Join { slower, settled } = step.reason else { panic!("{step:?}") };
    assert!(!settled);
    assert_eq!(sitting.task().piece, join(0, 0, 1));
    assert_eq!(sitting.task().tempo, slower.at_per_mille(850).in_whole_beats(BEAT));
}

#[test]
fn what_is_known_of_earlier_days_decides_about_joins() {
    let known = |earlier| ChunkFacts { earlier, fastest_clean: Some(beats(96)), ..facts(100) };
    let joins = |chunks: [ChunkFacts; 2]| {
        let mut sitting = Sitting::of(&chunks);
        for _ in 0..200 {
            let step = sitting.play("c");
            if let Reason::Join { settled, .. } = step.reason {
                return Some(settled);
            }
        }
        assert_eq!(sitting.practice.current(), None, "all is done without it");
        None
    };
    assert_eq!(joins([known(Earlier::Passed), known(Earlier::Passed)]), Some(true));
    assert_eq!(joins([known(Earlier::Unknown), known(Earlier::Passed)]), Some(false));
    assert_eq!(joins([known(Earlier::NotPassed), known(Earlier::Passed)]), None);
}

#[test]
fn a_join_rises_with_the_slower_of_its_parts() {
    let known = |tempo| ChunkFacts {
        earlier: Earlier::Passed,
        fastest_clean: Some(beats(tempo)),
        ..facts(120)
    };
    let mut sitting = Sitting::of(&[known(60), known(80)]);
    sitting.practice.recall(join(0, 0, 1), Some(beats(50)), Earlier::Passed).unwrap();
    sitting.practice.begin(Seconds::ZERO);
    let tempo_of_join = |sitting: &Sitting| {
        let mut practice = sitting.practice.clone();
        let step = practice.go_to(join(0, 0, 1), Seconds::ZERO).unwrap();
        step.task.unwrap().tempo.hundredths_of_beats_per_minute(BEAT) / 100
    };
    assert_eq!(tempo_of_join(&sitting), 46, "cold");
    // The faster one does not hold it back, however fast.
    sitting.practice.go_to(Piece::Chunk(1), Seconds::ZERO).unwrap();
    while sitting.tempo() <= 80 {
        sitting.play("c");
    }
    sitting.play("cc");
    assert_eq!(tempo_of_join(&sitting), 46);
    // The slower one does, by as much as it has become faster itself, a step at a time.
    sitting.practice.go_to(Piece::Chunk(0), Seconds::ZERO).unwrap();
    let clean = |sitting: &Sitting| {
        let (_, fastest, _) = sitting.practice.pieces().next().unwrap();
        fastest.unwrap().hundredths_of_beats_per_minute(BEAT) / 100
    };
    while clean(&sitting) < 75 {
        if sitting.task().piece != Piece::Chunk(0) {
            sitting.practice.go_to(Piece::Chunk(0), Seconds::ZERO).unwrap();
        }
        sitting.play("c");
    }
    let expected = 46 * clean(&sitting) / 60;
    assert!(tempo_of_join(&sitting).abs_diff(expected) <= 2, "{}", tempo_of_join(&sitting));
    assert!(tempo_of_join(&sitting) < 85 * clean(&sitting) / 100);
}

/// The joins of a player who is always clean, in their order.
fn joins(chunks: &[ChunkFacts]) -> std::vec::Vec<Piece> {
    let mut sitting = Sitting::of(chunks);
    let mut joins = std::vec::Vec::new();
    for _ in 0..20_000 {
        let step = sitting.play("c");
        let Some(task) = step.task else {
            assert_eq!(step.reason, Reason::AllAtGoal);
            return joins;
        };
        if matches!(step.reason, Reason::Join { .. }) {
            joins.push(task.piece);
        }
    }
    panic!("practice does not end");
}

#[test]
fn lines_grow_from_pairs() {
    let found = joins(&[facts(100); 4]);
    assert_eq!(found, [join(0, 0, 1), join(2, 2, 3), join(0, 1, 3)]);
    for chunks in 1..=9 {
        let found = joins(&std::vec![facts(100); chunks]);
        assert_eq!(found.len(), chunks - 1, "{chunks} chunks: each seam once");
    }
}

#[test]
fn no_further_join_is_begun_while_two_are_in_rotation() {
    // Known from earlier days, and from there on never clean in a faster tempo.
    let known =
        ChunkFacts { earlier: Earlier::Passed, fastest_clean: Some(beats(80)), ..facts(100) };
    let mut sitting = Sitting::of(&[known; 8]);
    let mut seen = std::vec::Vec::new();
    for _ in 0..1_000 {
        let chunk = matches!(sitting.task().piece, Piece::Chunk(_));
        // Joins hold at 70, so that they do not outgrow their parts.
        let limit = beats(if chunk { 81 } else { 71 });
        sitting.one(if sitting.task().tempo.is_slower_than(limit) { 'c' } else { '-' });
        let piece = sitting.task().piece;
        if !seen.contains(&piece) {
            seen.push(piece);
        }
    }
    let joins = seen.iter().filter(|piece| matches!(piece, Piece::Join { .. }));
    assert_eq!(joins.count(), 2, "{seen:?}");
}

#[test]
fn what_does_not_fit_into_one_or_does_not_follow_is_not_joined() {
    let long = ChunkFacts { notes: 200, ..facts(100) };
    assert_eq!(joins(&[long; 2]), []);
    let gap = ChunkFacts { joins_next: false, ..facts(100) };
    assert_eq!(joins(&[facts(100), gap, facts(100)]), [join(0, 0, 1)]);
}

#[test]
fn a_join_takes_the_slower_goal() {
    let mut sitting = Sitting::of(&[facts(100), facts(72)]);
    while sitting.task().piece != join(0, 0, 1) {
        sitting.play("c");
    }
    let mut fastest = sitting.tempo();
    while sitting.practice.current().is_some_and(|task| task.piece == join(0, 0, 1)) {
        fastest = sitting.tempo();
        sitting.play("c");
    }
    assert!(fastest <= 72, "{fastest}");
}

#[test]
fn the_seam_stands_for_a_join_that_is_too_hard() {
    let mut sitting = Sitting::of(&[facts(100); 2]);
    while sitting.task().piece != join(0, 0, 1) {
        sitting.play("c");
    }
    sitting.choose(Choice::Shorter).unwrap();
    assert_eq!(sitting.task().piece, Piece::Seam(0));
    let step = sitting.play("cc");
    assert!(matches!(step.reason, Reason::Join { .. }), "{step:?}");
    assert_eq!(sitting.task().piece, join(0, 0, 1));
}

#[test]
fn a_part_rests_once_the_join_is_clean_at_its_tempo() {
    // Both halves of the line are clean at 50, never faster; the line is, too.
    let mut sitting = Sitting::of(&[facts(100); 2]);
    let mut late = std::vec::Vec::new();
    for attempt in 0..600 {
        let heard = if sitting.task().tempo.is_slower_than(beats(51)) { 'c' } else { '-' };
        sitting.one(heard);
        if attempt > 400 {
            late.push(sitting.task().piece);
        }
    }
    assert!(late.iter().all(|piece| matches!(piece, Piece::Join { .. } | Piece::Seam(_))));
}

#[test]
fn a_join_from_an_earlier_day_goes_on_where_it_was() {
    let mut practice = Practice::<60>::new();
    let near = ChunkFacts { fastest_clean: Some(beats(100)), ..facts(100) };
    for _ in 0..2 {
        practice.add(near).unwrap();
    }
    let known = |practice: &mut Practice<60>, piece| {
        practice.recall(piece, Some(beats(90)), Earlier::Passed)
    };
    assert_eq!(known(&mut practice, join(0, 0, 1)), Ok(()));
    assert_eq!(known(&mut practice, join(0, 0, 1)), Err(NotPossible::NoSuchPiece), "twice");
    assert_eq!(known(&mut practice, join(1, 1, 3)), Err(NotPossible::NoSuchPiece));
    assert_eq!(known(&mut practice, Piece::Chunk(0)), Err(NotPossible::NoSuchPiece));
    let mut sitting = Sitting { practice, now: 0 };
    sitting.practice.begin(Seconds::ZERO);
    while sitting.task().piece != join(0, 0, 1) {
        sitting.play("c");
    }
    assert_eq!(sitting.tempo(), 83, "first as it comes");
    sitting.play("c");
    assert_eq!(sitting.tempo(), 90);
}

#[test]
fn a_pedal_without_room_goes_on_without_joins_and_halves() {
    let mut practice = Practice::<2>::new();
    practice.add(facts(70)).unwrap();
    practice.add(facts(70)).unwrap();
    assert_eq!(practice.add(facts(70)), Err(NotPossible::Full));
    practice.begin(Seconds::ZERO);
    assert_eq!(practice.choose(Choice::Shorter, Seconds::ZERO), Err(NotPossible::Full));
    for second in 0..200 {
        practice.attempt(
            Attempt {
                result: AttemptResult::Clean,
                tempo: None,
                lasted: Seconds::new(1),
                ended: Seconds::new(second * 10),
            },
            &EventResults::NONE,
        );
    }
    assert_eq!(practice.current(), None, "both are at their goals");
}
