//! A sitting in words, and where the next day goes on.

use super::{BARS, JOIN, Sitting, plan, prepared};
use evenhand::practice::{Known, Plan, Settings};
use evenhand_core::practice::{
    AttemptResult, Choice, Earlier, EventResults, Piece, Press, WrongPitch,
};
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::{Instant, Pitch};

#[test]
fn a_sitting_in_words() {
    let mut sitting = Sitting::of(BARS);
    let begin = sitting.plan.begin(false, Instant::ZERO).sentences;
    assert_eq!(begin, ["“A”, at 60 beats a minute."]);
    let clean = |sitting: &mut Sitting, times| sitting.play(AttemptResult::Clean, times);
    let not = |sitting: &mut Sitting, times| sitting.play(AttemptResult::NotClean, times);
    let said = clean(&mut sitting, 1);
    assert_eq!(said, "Clean at 60 straight away. On to 72 beats a minute.");
    let said = not(&mut sitting, 1);
    assert_eq!(said, "A little slower, until it is clean again: 60 beats a minute.");
    let said = clean(&mut sitting, 1);
    assert_eq!(said, "Clean, 1 of 2 in a row. Again at 60 beats a minute.");
    let said = clean(&mut sitting, 1);
    assert_eq!(said, "Clean twice in a row at 60. A little faster: 62 beats a minute.");
    let said = not(&mut sitting, 1);
    assert_eq!(said, "A little slower, until it is clean again: 58 beats a minute.");
    let said = sitting.play(AttemptResult::Unclear, 1);
    assert_eq!(said, "It changes nothing. Again at 58 beats a minute.");
    let said = sitting.play(AttemptResult::Unclear, 2);
    assert_eq!(
        said,
        "Unclear three times in a row. See first to what would settle it; playing on will not."
    );
    let said = sitting.play(AttemptResult::Interrupted, 1);
    assert_eq!(said, "That one does not count. Again at 58 beats a minute.");
    let said = not(&mut sitting, 1);
    assert_eq!(
        said,
        "Of the last 5, 2 clean: too few to learn from. Slower: 50 beats a minute. Or you could \
         take less of it at a time, change the rhythm, try another fingering, play it a few times \
         well above this tempo, play it half as fast with an accent on each beat, or leave it for \
         today; one is as good as another."
    );
    let said = sitting.choose(Choice::Shorter);
    assert_eq!(said, "“A”, first half, at 50 beats a minute.");
    let said = clean(&mut sitting, 2);
    assert_eq!(said, "The first half is clean. Now the second, at 50 beats a minute.");
    let said = clean(&mut sitting, 2);
    assert_eq!(said, "Both halves are clean. Now “A” as a whole, at 50 beats a minute.");
    let now = sitting.now();
    let said = sitting.plan.press(Press::Hurts, now).expect("always").sentences.join(" ");
    assert!(said.starts_with("Stop here and let your hands rest."), "{said}");
    assert!(sitting.plan.current().is_none());
}

#[test]
fn joins_and_the_end_in_words() {
    let mut sitting = Sitting::of(BARS);
    let said = sitting.until(Piece::Chunk(1)).sentences;
    assert_eq!(said, ["“A” is at its goal. Now “B”, at 54 beats a minute."]);
    let said = sitting.until(JOIN).sentences.join(" ");
    assert!(said.starts_with("“A” and “B” are clean today. Try them in one, at "), "{said}");
    let said = sitting.choose(Choice::Shorter);
    assert!(said.starts_with("Only the notes around the seam, “A” into “B”, at "), "{said}");
    let said = sitting.play(AttemptResult::Clean, 2);
    assert!(said.starts_with("The notes around the seam are clean. “A” and “B” in one"), "{said}");
    let mut last = String::new();
    while sitting.plan.current().is_some() {
        last = sitting.play(AttemptResult::Clean, 1);
    }
    assert_eq!(
        last,
        "Everything is at its goal for today. Leave it there and come back another day."
    );
}

#[test]
fn a_rest_is_said_after_the_rest() {
    let mut sitting = Sitting::of(BARS);
    let said = (0..151).map(|_| sitting.one(AttemptResult::NotClean).sentences).last().unwrap();
    assert_eq!(said.last().unwrap(), "You have played for 25 minutes: put the guitar down for 5.");
}

#[test]
fn the_hard_place_and_the_misread_note_in_words() {
    let pitch = |number| Pitch::new(number).expect("a pitch");
    let mut sitting = Sitting::of(BARS);
    let events = {
        let chunk = &sitting.plan.current().expect("it has begun").chunk;
        let mut onsets: Vec<_> = chunk.notes.iter().map(|note| note.onset).collect();
        onsets.dedup();
        onsets.len() as u8
    };
    let mut hard = EventResults::clean(events);
    hard.fail(4);
    let mut said = Vec::new();
    for _ in 0..3 {
        said = sitting.showing(AttemptResult::NotClean, &hard);
    }
    let words = said.join(" ");
    assert!(words.starts_with("It breaks at bar 1, "), "{words}");
    assert!(words.contains("three times in three: only the notes around it now, at "), "{words}");
    for _ in 0..40 {
        said = sitting.showing(AttemptResult::Clean, &EventResults::NONE);
        if said.join(" ").starts_with("All of it is clean") {
            break;
        }
    }
    let words = said.join(" ");
    assert!(words.starts_with("All of it is clean, a few notes at a time. “A” again"), "{words}");
    let wrong = WrongPitch { event: 2, written: pitch(65), played: pitch(66) };
    let misread = EventResults::clean(events).with_wrong(wrong);
    for _ in 0..3 {
        said = sitting.showing(AttemptResult::NotClean, &misread);
    }
    let words = said.join(" ");
    assert!(words.starts_with("F#4 where F4 is written at bar 1, "), "{words}");
    assert!(
        words.ends_with("three times. Look at the page before you play it again. The tempo stays."),
        "{words}"
    );
}

#[test]
fn the_level_decides_how_often_in_a_row() {
    for (level, times) in
        [(PracticeLevel::First, 2), (PracticeLevel::Steady, 3), (PracticeLevel::Performance, 4)]
    {
        let mut chunks = prepared(BARS);
        for chunk in &mut chunks {
            chunk.tolerances.level = level;
        }
        let mut plan = Plan::of_chunks(chunks, &Settings::default());
        plan.begin(false, Instant::ZERO);
        let mut sitting = Sitting { plan, now: 0 };
        sitting.play(AttemptResult::NotClean, 1);
        let said = sitting.play(AttemptResult::Clean, times);
        assert!(said.contains("in a row at ") && said.contains("A little faster: "), "{said}");
    }
}

#[test]
fn the_next_day_goes_on_where_the_last_one_ended() {
    let mut sitting = Sitting::of(BARS);
    sitting.until(JOIN);
    sitting.play(AttemptResult::Clean, 4);
    let known: Vec<Known> = sitting
        .plan
        .pieces()
        .map(|(piece, _, fastest_clean, passed)| Known {
            piece,
            fastest_clean,
            earlier: if passed { Earlier::Passed } else { Earlier::NotPassed },
        })
        .collect();
    let fastest = known.iter().find(|known| known.piece == JOIN).unwrap().fastest_clean;
    assert!(fastest.is_some());
    let settings = Settings { known, ..Settings::default() };
    let mut next = Sitting { plan: plan(BARS, &settings), now: 0 };
    let said = next.plan.begin(false, Instant::ZERO).sentences.join(" ");
    assert!(said.ends_with("a little below where it was clean before."), "{said}");
    next.until(JOIN);
    let tempo = next.plan.current().unwrap().task.tempo;
    assert!(fastest.is_some_and(|fastest| tempo.is_slower_than(fastest)), "first as it comes");
    let said = next.one(AttemptResult::Clean).step;
    assert_eq!(said.task.map(|task| task.tempo), fastest, "{said:?}");
}
