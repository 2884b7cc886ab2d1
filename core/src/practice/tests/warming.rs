//! How a day begins: with something easy, and lower after weeks away.

use super::*;
use crate::practice::rules::{HALF_GONE_WEEKS, WARM_UP_ATTEMPTS};

fn known(fastest: u32) -> ChunkFacts {
    ChunkFacts { fastest_clean: Some(beats(fastest)), earlier: Earlier::Passed, ..facts(100) }
}

#[test]
fn a_few_slow_attempts_move_nothing_and_then_the_first_piece_begins() {
    let (mut sitting, begun) = Sitting::warmed(&[known(80), known(100)], 1);
    assert_eq!(begun.unwrap().reason, Reason::WarmUp { left: WARM_UP_ATTEMPTS });
    assert_eq!((sitting.task().piece, sitting.tempo()), (Piece::Chunk(1), 70));
    // Clean or not: it goes on as slowly. What was something else warms nothing up.
    assert_eq!(sitting.play("c-/").reason, Reason::WarmUp { left: 2 });
    assert_eq!(sitting.tempo(), 70);
    assert_eq!(sitting.practice.choices().iter().collect::<std::vec::Vec<_>>(), [Choice::Stop]);
    assert!(sitting.practice.take_back().is_none());
    assert_eq!(sitting.play("cc").reason, Reason::Begin { clean_before: true });
    assert_eq!((sitting.task().piece, sitting.tempo()), (Piece::Chunk(0), 74));
    // What was warmed up on has its own turn later, cold by the same rule as ever.
    sitting.practice.go_to(Piece::Chunk(1), Seconds::new(90)).unwrap();
    assert_eq!(sitting.tempo(), 92);
}

#[test]
fn it_lasts_two_minutes_at_most_and_whoever_goes_elsewhere_has_done_with_it() {
    let (mut sitting, _) = Sitting::warmed(&[known(80), known(100)], 1);
    sitting.now = 110;
    assert_eq!(sitting.one('c').reason, Reason::Begin { clean_before: true });
    assert!(!sitting.practice.is_warming_up());
    let (mut sitting, _) = Sitting::warmed(&[known(80), known(100)], 1);
    sitting.practice.go_to(Piece::Chunk(1), Seconds::ZERO).unwrap();
    assert_eq!((sitting.practice.is_warming_up(), sitting.tempo()), (false, 92));
    let (_, refused) = Sitting::warmed(&[known(80)], 7);
    assert_eq!(refused, Err(NotPossible::NoSuchPiece));
    let mut begun = Sitting::of(&[known(80), known(100)]);
    let refused = begun.practice.warm_up(Piece::Chunk(1), Seconds::ZERO);
    assert_eq!(refused, Err(NotPossible::NotHere));
}

#[test]
fn after_weeks_away_it_begins_lower_as_half_the_gain_goes_in_thirteen_months() {
    let begins = |weeks: u8| {
        let earlier = if weeks == 0 { Earlier::Passed } else { Earlier::Away { weeks } };
        Sitting::of(&[ChunkFacts { earlier, ..known(100) }]).tempo()
    };
    // Clean at 100, begun once at 60: a gain of 40, of which half is 20.
    assert_eq!((begins(0), begins(1), begins(4)), (92, 92, 91));
    assert_eq!((begins(28), begins(HALF_GONE_WEEKS as u8)), (83, 74));
    assert_eq!((begins(112), begins(255)), (64, 57));
    let all: std::vec::Vec<u32> = (0..=255).map(begins).collect();
    assert!(all.windows(2).all(|two| two[1] <= two[0]) && all.iter().all(|tempo| *tempo >= 30));
    // What was never faster than where it began has no gain to lose.
    let slow = ChunkFacts { earlier: Earlier::Away { weeks: 200 }, ..known(50) };
    assert_eq!(Sitting::of(&[slow]).tempo(), 46);
}
