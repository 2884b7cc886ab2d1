//! A sitting: what an attempt leads to, choices, turns, rests and the end.

use super::*;

#[test]
fn clean_attempts_lead_up_and_others_down() {
    let mut sitting = Sitting::of(&[facts(100)]);
    assert_eq!(sitting.tempo(), 60);
    assert_eq!(sitting.play("c").reason, Reason::Clean { clean: 1, of: 2 });
    assert_eq!(sitting.play("c").reason, Reason::Faster { from: beats(60), clean: 2 });
    assert_eq!(sitting.tempo(), 62);
    assert_eq!(sitting.play("-").reason, Reason::Slower { from: beats(62) });
    assert_eq!(sitting.tempo(), 58);
}

#[test]
fn unclear_and_broken_off_attempts_change_nothing() {
    let mut sitting = Sitting::of(&[facts(100)]);
    sitting.play("c");
    assert_eq!(sitting.play("?").reason, Reason::Unclear { in_a_row: 1 });
    assert_eq!(sitting.play("/").reason, Reason::Interrupted);
    assert_eq!(sitting.play("?").reason, Reason::Unclear { in_a_row: 2 });
    assert_eq!(sitting.tempo(), 60);
    assert_eq!(sitting.play("c").reason, Reason::Faster { from: beats(60), clean: 2 });
    assert_eq!(sitting.play("?").reason, Reason::Unclear { in_a_row: 1 });
}

#[test]
fn what_was_clean_but_slow_says_nothing_about_the_tempo() {
    let mut sitting = Sitting::of(&[facts(100)]);
    let attempt = |heard, tempo| Attempt {
        result: heard,
        tempo: Some(beats(tempo)),
        lasted: Seconds::new(5),
        ended: Seconds::new(10),
    };
    let step = sitting.practice.attempt(attempt(AttemptResult::Clean, 55));
    assert_eq!(step.reason, Reason::NotAtTempo { played: beats(55) });
    let step = sitting.practice.attempt(attempt(AttemptResult::Clean, 57));
    assert_eq!(step.reason, Reason::Clean { clean: 1, of: 2 });
    let step = sitting.practice.attempt(attempt(AttemptResult::NotClean, 40));
    assert_eq!(step.reason, Reason::Slower { from: beats(60) });
}

#[test]
fn fewer_than_three_clean_of_five_go_two_steps_slower_with_a_choice() {
    let mut sitting = Sitting::of(&[facts(100)]);
    let step = sitting.play("--c-");
    assert!(step.offer.is_empty());
    let before = sitting.tempo();
    let step = sitting.play("-");
    assert_eq!(step.reason, Reason::TooFewClean { from: beats(before), clean: 1, of: 5 });
    assert!(step.offer.has(Choice::Shorter) && step.offer.has(Choice::Stop));
    assert_eq!((before, sitting.tempo()), (48, 42));
}

#[test]
fn raises_that_do_not_hold_lead_to_half_steps_and_then_to_choices() {
    let mut sitting = Sitting::of(&[ChunkFacts { fastest_clean: Some(beats(80)), ..facts(100) }]);
    let mut reasons = std::vec::Vec::new();
    for _ in 0..40 {
        // Never clean above 80.
        let heard = if sitting.task().tempo.is_slower_than(beats(81)) { 'c' } else { '-' };
        let step = sitting.one(heard);
        match step.reason {
            Reason::SmallerSteps { .. } => reasons.push("smaller"),
            Reason::Stuck { .. } => {
                let offered: std::vec::Vec<Choice> = step.offer.iter().collect();
                assert_eq!(offered, Choice::ALL);
                reasons.push("stuck");
            }
            _ => assert!(step.offer.is_empty()),
        }
    }
    assert_eq!(reasons[..2], ["smaller", "stuck"]);
    assert!(reasons[2..].iter().all(|reason| *reason == "stuck"), "offered again, halved once");
}

#[test]
fn only_what_is_possible_can_be_chosen() {
    let plain = ChunkFacts { splits: false, varies: false, fingerings: 0, ..facts(100) };
    let mut sitting = Sitting::of(&[plain]);
    let choices: std::vec::Vec<Choice> = sitting.practice.choices().iter().collect();
    assert_eq!(choices, [Choice::Burst, Choice::Stop]);
    assert_eq!(sitting.choose(Choice::Shorter), Err(NotPossible::NotHere));
    let at_goal = ChunkFacts { fastest_clean: Some(beats(100)), ..plain };
    let mut sitting = Sitting::of(&[at_goal]);
    assert_eq!(sitting.choose(Choice::Burst), Err(NotPossible::NotHere));
}

#[test]
fn another_rhythm_both_ways_and_back() {
    let mut sitting = Sitting::of(&[facts(100)]);
    sitting.play("c");
    assert_eq!(
        sitting.choose(Choice::Rhythm).unwrap().task.unwrap().way,
        PracticeVariant::LongShort
    );
    assert_eq!(sitting.play("-c").reason, Reason::Variation { clean: 1, of: 2 });
    assert_eq!(sitting.play("c").reason, Reason::OtherRhythm);
    assert_eq!(sitting.task().way, PracticeVariant::ShortLong);
    assert_eq!(sitting.play("------").reason, Reason::AsWritten, "six attempts are enough");
    assert_eq!((sitting.task().way, sitting.tempo()), (PracticeVariant::AsWritten, 60));
    assert_eq!(sitting.play("c").reason, Reason::Clean { clean: 1, of: 2 }, "the run began anew");
}

#[test]
fn a_burst_stays_where_it_was_clean() {
    let mut sitting = Sitting::of(&[facts(100)]);
    sitting.choose(Choice::Burst).unwrap();
    assert_eq!((sitting.task().way, sitting.tempo()), (PracticeVariant::Burst, 66));
    assert_eq!(sitting.play("-c").reason, Reason::BurstOver { held: false });
    assert_eq!(sitting.tempo(), 60);
    sitting.choose(Choice::Burst).unwrap();
    assert_eq!(sitting.play("cc").reason, Reason::BurstOver { held: true });
    assert_eq!((sitting.task().way, sitting.tempo()), (PracticeVariant::AsWritten, 66));
}

#[test]
fn another_fingering_begins_slower_and_comes_round() {
    let mut sitting = Sitting::of(&[facts(100)]);
    sitting.play("cc");
    sitting.choose(Choice::Fingering).unwrap();
    assert_eq!((sitting.practice.fingering(0), sitting.tempo()), (1, 53));
    sitting.choose(Choice::Fingering).unwrap();
    assert_eq!(sitting.practice.fingering(0), 0);
}

#[test]
fn one_piece_until_it_was_clean_then_three_minutes_each() {
    let mut sitting = Sitting::of(&[ChunkFacts { joins_next: false, ..facts(100) }; 2]);
    for _ in 0..30 {
        sitting.play("c-");
        assert_eq!(sitting.task().piece, Piece::Chunk(0), "not clean yet");
    }
    // Clean for the first time, long after three minutes.
    assert_eq!(sitting.play("cc").reason, Reason::Turn { after: Piece::Chunk(0) });
    assert_eq!(sitting.task().piece, Piece::Chunk(1));
    let began = sitting.now;
    while sitting.play("ccc-").reason != (Reason::Turn { after: Piece::Chunk(1) })
        && sitting.task().piece == Piece::Chunk(1)
    {}
    assert_eq!(sitting.task().piece, Piece::Chunk(0));
    let minutes = Seconds::new(sitting.now - began).as_minutes_rounded();
    assert!((3..=4).contains(&minutes), "{minutes} minutes");
}

#[test]
fn no_further_chunk_is_begun_while_four_are_in_rotation() {
    let mut sitting = Sitting::of(&[ChunkFacts { joins_next: false, ..facts(300) }; 8]);
    let mut seen = std::vec::Vec::new();
    for _ in 0..200 {
        sitting.play("cc-");
        let piece = sitting.task().piece;
        if !seen.contains(&piece) {
            seen.push(piece);
        }
    }
    assert_eq!(seen, [0, 1, 2, 3].map(Piece::Chunk));
}

#[test]
fn a_piece_at_its_goal_gives_way_and_the_last_one_ends_practice() {
    let near = ChunkFacts { fastest_clean: Some(beats(98)), joins_next: false, ..facts(100) };
    let mut sitting = Sitting::of(&[near; 2]);
    let step = sitting.play("cccc");
    assert_eq!(step.reason, Reason::AtGoal { done: Piece::Chunk(0) });
    let step = sitting.play("cccc");
    assert_eq!((step.task, step.reason), (None, Reason::AllAtGoal));
    assert_eq!(sitting.play("c-").reason, Reason::AllAtGoal, "it stays over");
}

#[test]
fn a_rest_is_reminded_of_beside_the_next_step() {
    let mut sitting = Sitting::of(&[facts(300)]);
    let mut reminded = std::vec::Vec::new();
    for _ in 0..200 {
        let step = sitting.play("-");
        assert!(step.task.is_some());
        if step.rest.is_some() {
            reminded.push(sitting.now / 60);
        }
    }
    assert_eq!(reminded, [25, 30]);
}

#[test]
fn it_hurts_ends_at_once_whatever_else_there_is() {
    let mut sitting = Sitting::of(&[facts(100); 3]);
    sitting.play("cc-");
    let step = sitting.practice.hurts();
    assert_eq!((step.task, step.reason), (None, Reason::Hurts));
    assert_eq!(sitting.play("c").task, None);
    assert_eq!(sitting.choose(Choice::Stop), Err(NotPossible::Over));
    assert_eq!(sitting.practice.go_to(Piece::Chunk(1), Seconds::ZERO), Err(NotPossible::Over));
    let mut stopped = Sitting::of(&[facts(100)]);
    assert_eq!(stopped.choose(Choice::Stop).unwrap().reason, Reason::Stopped);
    assert_eq!(stopped.practice.hurts().reason, Reason::Hurts);
}

#[test]
fn nothing_to_practise_is_said() {
    let mut practice = Practice::<5>::new();
    let step = practice.begin(Seconds::ZERO);
    assert_eq!((step.task, step.reason), (None, Reason::Nothing));
}
