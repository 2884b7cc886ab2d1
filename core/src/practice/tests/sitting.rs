//! A sitting: what an attempt leads to, choices, turns, rests and the end.

use super::*;

#[test]
fn clean_attempts_lead_up_and_others_down() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    assert_eq!(sitting.tempo(), 60);
    assert_eq!(sitting.play("c").reason, Reason::Clean { clean: 1, of: 2 });
    assert_eq!(sitting.play("c").reason, Reason::Faster { from: beats(60), clean: 2 });
    assert_eq!(sitting.tempo(), 62);
    assert_eq!(sitting.play("-").reason, Reason::Slower { from: beats(62) });
    assert_eq!(sitting.tempo(), 58);
}

#[test]
fn unclear_and_broken_off_attempts_change_nothing() {
    let mut sitting = Sitting::placed(&[facts(100)]);
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
    let mut sitting = Sitting::placed(&[facts(100)]);
    let attempt = |heard, tempo| Attempt {
        result: heard,
        tempo: Some(beats(tempo)),
        lasted: Seconds::new(5),
        ended: Seconds::new(10),
    };
    let step = sitting.practice.attempt(attempt(AttemptResult::Clean, 55), &EventResults::NONE);
    assert_eq!(step.reason, Reason::NotAtTempo { played: beats(55) });
    let step = sitting.practice.attempt(attempt(AttemptResult::Clean, 57), &EventResults::NONE);
    assert_eq!(step.reason, Reason::Clean { clean: 1, of: 2 });
    let step = sitting.practice.attempt(attempt(AttemptResult::NotClean, 40), &EventResults::NONE);
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
            Reason::Plateau { .. } => reasons.push("changed"),
            _ => assert!(step.offer.is_empty()),
        }
    }
    assert!(reasons.contains(&"changed"), "changed by itself before it is stuck");
    assert_eq!(reasons.iter().filter(|reason| **reason == "smaller").count(), 1, "halved once");
}

#[test]
fn only_what_is_possible_can_be_chosen() {
    let plain = ChunkFacts { splits: false, varies: false, fingerings: 0, ..facts(100) };
    let mut sitting = Sitting::of(&[plain]);
    let choices: std::vec::Vec<Choice> = sitting.practice.choices().iter().collect();
    assert_eq!(choices, [Choice::Burst, Choice::Accents, Choice::Stop]);
    assert_eq!(sitting.choose(Choice::Shorter), Err(NotPossible::NotHere));
    let at_goal = ChunkFacts { fastest_clean: Some(beats(100)), ..plain };
    let mut sitting = Sitting::of(&[at_goal]);
    assert_eq!(sitting.play("c").reason, Reason::Leap { from: beats(92) });
    assert_eq!(sitting.choose(Choice::Burst), Err(NotPossible::NotHere));
}

#[test]
fn another_rhythm_both_ways_and_back() {
    let mut sitting = Sitting::placed(&[facts(100)]);
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
fn half_the_tempo_with_accents_and_back() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    sitting.choose(Choice::Accents).unwrap();
    assert_eq!((sitting.task().way, sitting.tempo()), (PracticeVariant::Accents, 30));
    assert_eq!(sitting.play("-c").reason, Reason::Variation { clean: 1, of: 2 });
    assert_eq!(sitting.play("c").reason, Reason::AsWritten);
    assert_eq!((sitting.task().way, sitting.tempo()), (PracticeVariant::AsWritten, 60));
    // Of a few notes there is none.
    let sitting = Sitting::of(&[ChunkFacts { notes: 7, ..facts(100) }]);
    assert!(!sitting.practice.choices().has(Choice::Accents));
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
    let mut sitting = Sitting::placed(&[facts(100)]);
    sitting.play("cc");
    sitting.choose(Choice::Fingering).unwrap();
    assert_eq!((sitting.practice.fingering(0), sitting.tempo()), (1, 53));
    sitting.choose(Choice::Fingering).unwrap();
    assert_eq!(sitting.practice.fingering(0), 0);
}

#[test]
fn one_piece_until_it_was_clean_then_three_minutes_each() {
    let mut sitting = Sitting::of(&[ChunkFacts { joins_next: false, ..facts(100) }; 2]);
    for _ in 0..3 {
        sitting.play("-c");
        assert_eq!(sitting.task().piece, Piece::Chunk(0), "not clean yet");
    }
    // Clean for the first time, after three minutes.
    sitting.now += 180;
    assert_eq!(sitting.play("c").reason, Reason::Turn { after: Piece::Chunk(0) });
    assert_eq!(sitting.task().piece, Piece::Chunk(1));
    let began = sitting.now;
    while sitting.play("ccc-").reason != (Reason::Turn { after: Piece::Chunk(1) })
        && sitting.task().piece == Piece::Chunk(1)
    {}
    assert_eq!(sitting.task().piece, Piece::Chunk(0));
    let minutes = Seconds::new(sitting.now - began).as_minutes_rounded();
    assert!((3..=5).contains(&minutes), "{minutes} minutes");
}

#[test]
fn no_further_chunk_is_begun_while_four_are_in_rotation() {
    let mut sitting = Sitting::of(&[ChunkFacts { joins_next: false, ..facts(300) }; 8]);
    let mut seen = std::vec::Vec::new();
    for _ in 0..200 {
        sitting.play("cc-");
        let piece = sitting.task().piece;
        if matches!(piece, Piece::Chunk(_)) && !seen.contains(&piece) {
            seen.push(piece);
        }
    }
    assert_eq!(seen, [0, 1, 2, 3].map(Piece::Chunk));
}

#[test]
fn a_piece_at_its_goal_gives_way_and_the_last_one_ends_practice() {
    let near = ChunkFacts { fastest_clean: Some(beats(98)), joins_next: false, ..facts(100) };
    let mut sitting = Sitting::of(&[near; 2]);
    let step = sitting.play("ccccc");
    assert_eq!(step.reason, Reason::AtGoal { done: Piece::Chunk(0) });
    let step = sitting.play("ccccc");
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

#[test]
fn clean_at_the_first_try_leaps_and_what_did_not_hold_goes_back() {
    let mut sitting = Sitting::of(&[facts(100)]);
    let mut tempi = std::vec![sitting.tempo()];
    for _ in 0..3 {
        assert!(matches!(sitting.play("c").reason, Reason::Leap { .. }));
        tempi.push(sitting.tempo());
    }
    assert_eq!(tempi, [60, 72, 86, 100]);
    assert_eq!(sitting.play("-").reason, Reason::Slower { from: beats(100) });
    assert_eq!(sitting.tempo(), 83);
    assert_eq!(sitting.play("c").reason, Reason::Clean { clean: 1, of: 2 }, "by steps from here");
    // Yesterday's best is tried from below, and reached by one leap.
    let known = ChunkFacts { fastest_clean: Some(beats(80)), ..facts(100) };
    let mut sitting = Sitting::of(&[known]);
    assert_eq!(sitting.tempo(), 74);
    sitting.play("c");
    assert_eq!(sitting.tempo(), 80);
    assert_eq!(sitting.play("cc").reason, Reason::Faster { from: beats(80), clean: 2 });
}

#[test]
fn twice_clean_and_faster_than_asked_goes_on_from_there() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    let mut play = |tempo| {
        sitting.now += 10;
        let attempt = Attempt {
            result: AttemptResult::Clean,
            tempo: Some(beats(tempo)),
            lasted: Seconds::new(5),
            ended: Seconds::new(sitting.now),
        };
        let step = sitting.practice.attempt(attempt, &EventResults::NONE);
        (step.reason, step.task.map(|task| task.tempo))
    };
    assert_eq!(play(90).0, Reason::Clean { clean: 1, of: 2 });
    let shown = Reason::Shown { played: beats(86), asked: beats(60) };
    assert_eq!(play(86), (shown, Some(beats(86))));
    assert!(matches!(play(88).0, Reason::Clean { clean: 1, of: 2 }), "about the tempo");
    assert!(matches!(play(120).0, Reason::Faster { .. }));
    assert_eq!(play(120).0, Reason::AllAtGoal, "no faster than the goal is asked for");
}

#[test]
fn three_breakings_off_in_a_row_are_a_failed_attempt() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    let stopped = |at| EventResults::stopped(8, at);
    let reasons: std::vec::Vec<Reason> =
        [3, 5, 7, 2, 6].iter().map(|at| sitting.shows('/', &stopped(*at)).reason).collect();
    assert_eq!(reasons[..2], [Reason::Interrupted; 2]);
    assert_eq!(reasons[2], Reason::Slower { from: beats(60) });
    assert_eq!(reasons[3..5], [Reason::Interrupted; 2]);
    assert_eq!(sitting.play("//").reason, Reason::Interrupted, "something else is no breaking off");
}

fn pitch(number: u8) -> crate::units::Pitch {
    crate::units::Pitch::new(number).unwrap()
}

#[test]
fn a_misread_note_is_named_and_the_tempo_stays() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    let wrong = WrongPitch { event: 3, written: pitch(65), played: pitch(66) };
    let misread = EventResults::clean(16).with_wrong(wrong);
    assert_eq!(sitting.shows('-', &misread).reason, Reason::Slower { from: beats(60) });
    let tempo = sitting.tempo();
    for times in 2..=5 {
        assert_eq!(sitting.shows('-', &misread).reason, Reason::Misread { wrong, times });
        assert_eq!(sitting.tempo(), tempo);
    }
    // Then it is a hard place like others.
    let step = sitting.shows('-', &misread);
    assert_eq!(step.reason, Reason::Spot { event: 3, failed: 6, tries: 6 });
}

/// Plays until the place is found that fails in two attempts of three.
fn to_spot(sitting: &mut Sitting, event: u8) -> Step {
    let mut hard = EventResults::clean(16);
    hard.fail(event);
    sitting.shows('-', &hard);
    sitting.shows('c', &EventResults::clean(16));
    sitting.shows('-', &hard);
    sitting.shows('-', &hard)
}

#[test]
fn the_hard_place_is_practised_alone_and_grows_back_into_the_whole() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    let step = to_spot(&mut sitting, 6);
    assert_eq!(step.reason, Reason::Spot { event: 6, failed: 3, tries: 4 });
    let asked = sitting.tempo();
    let mut spots = std::vec::Vec::new();
    let mut now = step;
    for _ in 0..40 {
        match now.task.unwrap().piece {
            Piece::Spot(Spot { from, to, .. }) => {
                if spots.last() != Some(&(from, to)) {
                    spots.push((from, to));
                }
            }
            piece => {
                assert_eq!((piece, now.reason), (Piece::Chunk(0), Reason::SpotDone));
                break;
            }
        }
        now = sitting.one('c');
    }
    assert_eq!(spots, [(4, 8), (2, 10), (0, 12)]);
    assert!(sitting.tempo() >= asked, "at the tempo at which it failed");
    assert_eq!(sitting.task().piece, Piece::Chunk(0));
}

#[test]
fn a_spot_can_be_taken_back_and_left_and_gives_way_to_the_next() {
    let mut sitting = Sitting::placed(&[facts(100); 2]);
    assert!(matches!(to_spot(&mut sitting, 6).reason, Reason::Spot { .. }));
    let step = sitting.practice.take_back().unwrap();
    assert_eq!((step.task.unwrap().piece, step.reason), (Piece::Chunk(0), Reason::TakenBack));
    assert!(matches!(to_spot(&mut sitting, 6).reason, Reason::Spot { .. }));
    let now = Seconds::new(sitting.now);
    sitting.practice.go_to(Piece::Chunk(1), now).unwrap();
    let step = to_spot(&mut sitting, 9);
    let spot = Spot { first: 1, last: 1, half: None, from: 7, to: 11 };
    assert_eq!(step.task.unwrap().piece, Piece::Spot(spot));
    let spots = sitting.practice.pieces().filter(|(piece, ..)| matches!(piece, Piece::Spot(_)));
    assert_eq!(spots.count(), 1);
    sitting.practice.go_to(Piece::Chunk(0), now).unwrap();
    assert_eq!(sitting.play("c").task.unwrap().piece, Piece::Chunk(0));
}

#[test]
fn ten_attempts_without_a_new_best_change_something_and_changes_take_turns() {
    let mut sitting = Sitting::placed(&[ChunkFacts { joins_next: false, ..facts(100) }; 2]);
    let mut changes = std::vec::Vec::new();
    for attempt in 0..400 {
        // Every other attempt is clean, wherever it is played: never twice in a row.
        let step = sitting.one(if attempt % 2 == 0 { '-' } else { 'c' });
        match step.reason {
            Reason::Plateau { attempts, change } => {
                assert!((7..=10).contains(&attempts), "{attempts}");
                assert!(!step.offer.is_empty(), "something else can be chosen");
                changes.push(change);
            }
            Reason::Turn { .. } => break,
            _ => {}
        }
    }
    assert_eq!(changes[0], Choice::Rhythm);
    assert_eq!(changes[1], Choice::Shorter);
    assert!(changes.len() <= 12, "{changes:?}");
}

#[test]
fn the_same_slip_is_named_where_it_passes_too() {
    let mut sitting = Sitting::placed(&[facts(100)]);
    let wrong = WrongPitch { event: 3, written: pitch(65), played: pitch(66) };
    let misread = EventResults::clean(16).with_wrong(wrong);
    let reasons: std::vec::Vec<Reason> =
        (0..4).map(|_| sitting.shows('c', &misread).reason).collect();
    assert_eq!(reasons[2], Reason::Misread { wrong, times: 3 });
    assert!(matches!(reasons[3], Reason::Faster { .. }), "said once: {reasons:?}");
    assert!(sitting.tempo() > 60, "it passed, and goes on");
}

#[test]
fn where_practice_goes_elsewhere_that_is_said_and_not_the_misread_note() {
    let near = ChunkFacts { fastest_clean: Some(beats(100)), joins_next: false, ..facts(100) };
    let wrong = WrongPitch { event: 3, written: pitch(65), played: pitch(66) };
    let misread = EventResults::clean(16).with_wrong(wrong);
    let mut sitting = Sitting::of(&[near]);
    // A leap, and then twice at the goal: the third time that the note came is the end.
    let reasons: std::vec::Vec<Reason> =
        (0..3).map(|_| sitting.shows('c', &misread).reason).collect();
    assert_eq!(reasons[2], Reason::AllAtGoal, "{reasons:?}");
}

#[test]
fn what_cannot_be_halved_is_added_up_from_its_beginning() {
    let plain = ChunkFacts { splits: false, ..facts(100) };
    let mut sitting = Sitting::placed(&[plain]);
    assert!(!sitting.practice.choices().has(Choice::Shorter), "its events are not known yet");
    let results = EventResults::clean(12);
    sitting.shows('-', &results);
    let tempo = sitting.tempo();
    let step = sitting.choose(Choice::Shorter).unwrap();
    let bit = |from, to| Piece::Spot(Spot { first: 0, last: 0, half: None, from, to });
    assert_eq!((step.task.unwrap().piece, sitting.tempo()), (bit(0, 2), tempo));
    // As often in a row as the level wants, then once for each step.
    assert_eq!(sitting.play("c").reason, Reason::Clean { clean: 1, of: 2 });
    for to in [4, 6, 8] {
        let step = sitting.one('c');
        assert_eq!((step.reason, step.task.unwrap().piece), (Reason::SpotGrows, bit(0, to)));
    }
    let step = sitting.one('c');
    assert_eq!((step.reason, step.task.unwrap().piece), (Reason::SpotDone, Piece::Chunk(0)));
    assert_eq!(sitting.tempo(), tempo);
    // Few events are not worth it.
    let mut sitting = Sitting::placed(&[plain]);
    sitting.shows('-', &EventResults::clean(5));
    assert!(!sitting.practice.choices().has(Choice::Shorter));
}
