//! The tempo of one piece.

use super::*;

fn stairs(level: PracticeLevel, start: u32) -> Staircase {
    Staircase::new(beats(200), BEAT, Rules::of(level), Some(beats(start)))
}

fn tempo(stairs: &Staircase) -> u32 {
    (stairs.tempo().hundredths_of_beats_per_minute(BEAT) + 50) / 100
}

#[test]
fn a_passage_begins_where_it_was_clean_or_at_sixty_per_cent() {
    let rules = Rules::default();
    assert_eq!(tempo(&Staircase::new(beats(72), BEAT, rules, None)), 43, "43.2 of 72");
    assert_eq!(tempo(&Staircase::new(beats(72), BEAT, rules, Some(beats(66)))), 66);
    assert_eq!(tempo(&Staircase::new(beats(72), BEAT, rules, Some(beats(90)))), 72, "the goal");
}

#[test]
fn two_three_or_four_clean_in_a_row_are_a_step_up_of_four_per_cent() {
    for (level, in_a_row) in
        [(PracticeLevel::First, 2), (PracticeLevel::Steady, 3), (PracticeLevel::Performance, 4)]
    {
        let mut stairs = stairs(level, 100);
        for _ in 1..in_a_row {
            assert_eq!(stairs.take(true), Move::Stays);
        }
        assert_eq!(stairs.take(true), Move::Raised);
        assert_eq!(tempo(&stairs), 104, "{level:?}");
        assert_eq!(stairs.fastest_clean(), Some(beats(100)));
    }
}

#[test]
fn one_that_is_not_clean_is_a_step_down() {
    for (level, down) in
        [(PracticeLevel::First, 93), (PracticeLevel::Steady, 95), (PracticeLevel::Performance, 95)]
    {
        let mut stairs = stairs(level, 100);
        stairs.take(true);
        assert_eq!(stairs.take(false), Move::Lowered(Raises::Open));
        assert_eq!((tempo(&stairs), stairs.run()), (down, 0), "{level:?}");
    }
}

#[test]
fn a_step_is_two_beats_at_least() {
    let mut slow = stairs(PracticeLevel::First, 60);
    slow.lower();
    slow.begin_at(beats(30).faster(slow.floor()));
    assert_eq!(tempo(&slow), 60, "the floor of 200 is 60");
    let mut slow = Staircase::new(beats(40), BEAT, Rules::of(PracticeLevel::First), None);
    assert_eq!(tempo(&slow), 24);
    slow.take(true);
    slow.take(true);
    assert_eq!(tempo(&slow), 26, "4 % would be 25");
    slow.take(false);
    assert_eq!(tempo(&slow), 24, "7 % would be 24.2");
}

#[test]
fn the_goal_is_never_passed_nor_the_floor() {
    let mut up = stairs(PracticeLevel::First, 199);
    up.take(true);
    assert_eq!(up.take(true), Move::Raised);
    assert_eq!(up.tempo(), beats(200));
    up.take(true);
    assert_eq!(up.take(true), Move::Reached);
    assert_eq!(up.tempo(), beats(200));
    let mut down = Staircase::new(beats(100), BEAT, Rules::default(), None);
    while down.take(false) == Move::Lowered(Raises::Open) {}
    assert_eq!(down.tempo(), beats(30));
    assert_eq!(down.take(false), Move::AtFloor(Raises::Open));
}

/// Clean at 100; a raise that does not hold.
fn failed_raise(stairs: &mut Staircase) -> Move {
    loop {
        let new =
            stairs.fastest_clean().is_some_and(|fastest| fastest.is_slower_than(stairs.tempo()));
        if new {
            return stairs.take(false);
        }
        stairs.take(true);
    }
}

#[test]
fn two_failed_raises_halve_the_step_and_two_more_are_stuck() {
    let mut stairs = stairs(PracticeLevel::First, 100);
    assert_eq!(failed_raise(&mut stairs), Move::Lowered(Raises::Open));
    assert_eq!(tempo(&stairs), 97, "7 % below 104");
    assert_eq!(failed_raise(&mut stairs), Move::Lowered(Raises::Halved));
    let before = tempo(&stairs);
    stairs.take(true);
    stairs.take(true);
    assert_eq!(tempo(&stairs), before + 2, "half of 4 %");
    assert_eq!(failed_raise(&mut stairs), Move::Lowered(Raises::Open));
    assert_eq!(failed_raise(&mut stairs), Move::Lowered(Raises::Stuck));
}

#[test]
fn a_raise_that_holds_forgives_one_that_did_not() {
    let mut stairs = stairs(PracticeLevel::First, 100);
    failed_raise(&mut stairs);
    while stairs.fastest_clean() == Some(beats(100)) {
        stairs.take(true);
    }
    assert_eq!(failed_raise(&mut stairs), Move::Lowered(Raises::Open));
}

#[test]
fn getting_back_to_what_was_clean_is_no_raise() {
    let mut stairs = stairs(PracticeLevel::First, 100);
    for _ in 0..6 {
        let lowered = stairs.take(false);
        assert_eq!(lowered, Move::Lowered(Raises::Open));
        stairs.take(true);
        stairs.take(true);
    }
}

#[test]
fn nonsense_in_the_rules_does_no_harm() {
    let rules = Rules { in_a_row: 0, up_per_mille: 0, down_per_mille: u16::MAX, least_beats: 0 };
    let mut stairs = Staircase::new(beats(100), Ticks::ZERO, rules, Some(Tempo::SLOWEST));
    assert_eq!(stairs.beat(), BEAT);
    for attempt in 0..500 {
        stairs.take(attempt % 7 != 0);
        assert!(!stairs.tempo().is_slower_than(stairs.floor()));
        assert!(!stairs.goal().is_slower_than(stairs.tempo()));
    }
}
