//! An attempt that was taken back: what comes after it is judged as if it had not been played, and what
//! the player says of the pickup moves no verdict by itself.

use evenhand_core::pickup::Habits;
use evenhand_core::player::{Fault, Performance};
use evenhand_core::units::Offset;
use evenhand_core::verdict::{Kind, Outcome, Pool, Verdict};
use evenhand_tests::seeded::Seeded;
use evenhand_tests::strings_late::{Music, NO_HABIT, Rig, Sitting};

/// A pickup without a delay.
const PROMPT: Rig = Rig { name: "prompt", late: [0; 6], periods: 0 };

/// Two bars up and down the lower strings.
const LINE: [&[(u8, u8)]; 16] = [
    &[(6, 3)],
    &[(5, 0)],
    &[(5, 2)],
    &[(5, 3)],
    &[(4, 0)],
    &[(4, 2)],
    &[(4, 4)],
    &[(3, 0)],
    &[(3, 2)],
    &[(3, 0)],
    &[(4, 4)],
    &[(4, 2)],
    &[(4, 0)],
    &[(5, 3)],
    &[(5, 2)],
    &[(5, 0)],
];

/// A hand about as unsteady as may be, so that attempts have to be taken together.
const AT_THE_LIMIT: fn(&Performance, usize) -> i32 =
    |_, index| if index % 2 == 0 { 16_500 } else { -16_500 };

/// What somebody may play: which music, with which faults.
fn played(seeded: &mut Seeded) -> (usize, Vec<Fault>) {
    let music = match seeded.index(14) {
        0 => 1,
        1 => 2,
        _ => 0,
    };
    // A few places, so that slips come again, and a drift about the limit.
    let note = 5 + seeded.index(2) as u16;
    let faults = match seeded.index(6) {
        0 => vec![Fault::Missing(note)],
        1 => vec![Fault::Wrong { note, semitones: 12 }],
        2 => vec![Fault::Extra { after: note, semitones: 12 }],
        3 => vec![Fault::OffBeat { note, by: Offset::from_millis(60) }],
        4 => vec![Fault::Drift(40 + 10 * seeded.index(5) as i16)],
        _ => vec![],
    };
    (music, faults)
}

#[test]
fn attempts_after_one_that_was_taken_back_are_judged_as_if_it_had_not_been_played() {
    // The same line faster is another tempo, the line from its middle on another chunk.
    let musics = [Music::new(160, &LINE), Music::new(190, &LINE), Music::new(160, &LINE[4..])];
    let (mut taken_back, mut differs_otherwise) = (0, 0);
    for seed in 0..60 {
        let mut seeded = Seeded::new(seed);
        let mut sitting = Sitting::new(PROMPT, false, &AT_THE_LIMIT);
        let mut play = |pool: &mut Pool, music: usize, faults: &[Fault], take: u64| {
            sitting.attempt(&musics[music], pool, faults, seed * 100 + take)
        };
        let mut pool = Pool::new();
        for take in 0..seeded.index(9) as u64 {
            let (music, faults) = played(&mut seeded);
            play(&mut pool, music, &faults, take);
        }
        let mut other = pool.clone();
        let (music, faults) = played(&mut seeded);
        play(&mut other, music, &faults, 50);
        let mut kept = other.clone();
        if seeded.index(2) == 0 {
            other.begin_anew();
        }
        assert!(other.take_back(&mut Habits::NONE.clone()));
        assert!(!other.take_back(&mut Habits::NONE.clone()), "once");
        taken_back += 1;
        for take in 60..66 {
            let (music, faults) = played(&mut seeded);
            let told = play(&mut pool, music, &faults, take);
            assert_eq!(play(&mut other, music, &faults, take), told, "seed {seed}, take {take}");
            differs_otherwise += u32::from(play(&mut kept, music, &faults, take) != told);
        }
    }
    assert_eq!(taken_back, 60);
    // Else the above would say nothing.
    assert!(differs_otherwise >= 20, "{differs_otherwise}");
}

#[test]
fn an_attempt_that_begins_anew_is_not_taken_together_with_those_before() {
    let music = Music::new(160, &LINE);
    let mut differs_otherwise = 0;
    for seed in 0..20 {
        let mut sitting = Sitting::new(PROMPT, false, &AT_THE_LIMIT);
        let mut pool = Pool::new();
        for take in 0..3 {
            sitting.attempt(&music, &mut pool, &[], seed * 10 + take);
        }
        let together = sitting.attempt(&music, &mut pool.clone(), &[], seed * 10 + 9);
        pool.begin_anew();
        let anew = sitting.attempt(&music, &mut pool, &[], seed * 10 + 9);
        let first = sitting.attempt(&music, &mut Pool::new(), &[], seed * 10 + 9);
        assert_eq!(anew, first, "seed {seed}");
        differs_otherwise += u32::from(together != first);
    }
    assert!(differs_otherwise >= 5, "{differs_otherwise}");
}

/// Whether notes that were missing are told as the player's.
fn charged(verdict: &Verdict) -> bool {
    verdict.outcome == Outcome::NeedsWork && verdict.finding(Kind::MissingNotes).is_some()
}

#[test]
fn what_is_disputed_once_moves_no_verdict_and_what_is_disputed_often_does() {
    let music = Music::new(160, &LINE);
    let mut moved = 0;
    for note in 1..15 {
        let fault = [Fault::Missing(note)];
        let mut sitting = Sitting::new(PROMPT, true, NO_HABIT);
        let mut pool = Pool::new();
        let told = sitting.attempt(&music, &mut pool, &fault, 7).expect("a verdict");
        if !charged(&told) {
            continue;
        }
        // Judged once more, with what was learnt of the attempt itself and with what was said of it.
        let mut without =
            Sitting { habits: sitting.habits, ..Sitting::new(PROMPT, true, NO_HABIT) };
        assert!(pool.take_back(&mut sitting.habits));
        let again = without.attempt(&music, &mut Pool::new(), &fault, 7);
        let mut habits = sitting.habits;
        let after = sitting.attempt(&music, &mut pool, &fault, 7);
        assert_eq!(after, again, "note {note}");
        // Somebody who says so again and again is believed in the end.
        for _ in 0..40 {
            let mut judge = Sitting { habits, ..Sitting::new(PROMPT, true, NO_HABIT) };
            let mut pool = Pool::new();
            let told = judge.attempt(&music, &mut pool, &fault, 7).expect("a verdict");
            pool.take_back(&mut judge.habits);
            habits = judge.habits;
            if !charged(&told) {
                moved += 1;
                break;
            }
        }
    }
    assert!(moved >= 3, "{moved}");
}
