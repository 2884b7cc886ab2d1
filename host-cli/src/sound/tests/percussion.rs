use super::click;
use crate::sound::Passage;
use crate::sound::percussion::Percussion;
use crate::study::parse;
use evenhand_core::verdict::Outcome;

/// All messages until a time, as a thread would take them that wakes so often.
fn taken(percussion: &mut Percussion, until: u64, step: usize) -> Vec<(u64, [u8; 3])> {
    let mut all = Vec::new();
    for now in (0..=until).step_by(step) {
        while let Some(due) = percussion.take(now) {
            assert!(due.at <= now);
            all.push((due.at, due.message));
        }
    }
    all
}

/// General MIDI System Level 1, percussion key map: 76 and 77 are wood blocks, 60 and 61 bongos,
/// 75 claves; channel 10 is 9 on the wire.
#[test]
fn beats_and_cues_are_notes_of_the_percussion_channel() {
    let mut percussion = Percussion::default();
    assert_eq!(percussion.next_at(), None);
    percussion.start(click(120, (3, 4), 1), 1_000);
    assert_eq!(percussion.next_at(), Some(1_000));
    let strokes = |taken: Vec<(u64, [u8; 3])>| {
        let on = taken.iter().filter(|(_, message)| message[0] == 0x99 && message[2] > 0);
        let strokes: Vec<(u64, u8)> = on.map(|(at, message)| (*at, message[1])).collect();
        let off = taken.iter().filter(|(_, message)| message[0] == 0x89).count();
        (strokes, off)
    };
    let (beats, off) = strokes(taken(&mut percussion, 1_800_000, 500));
    assert_eq!(beats, [(1_000, 76), (501_000, 77), (1_001_000, 77), (1_501_000, 76)]);
    assert_eq!(off, 4);
    percussion.stop();
    for (outcome, keys) in
        [(Outcome::Passed, [61, 60]), (Outcome::NeedsWork, [60, 61]), (Outcome::Unclear, [75, 75])]
    {
        percussion.cue(outcome, 0);
        let (cue, off) = strokes(taken(&mut percussion, 1_000_000, 500));
        assert_eq!(cue.iter().map(|(_, key)| *key).collect::<Vec<_>>(), keys);
        assert_eq!(off, 2);
    }
    assert_eq!(percussion.next_at(), None);
}

#[test]
fn beats_that_were_slept_through_are_not_made_up_for() {
    let mut percussion = Percussion::default();
    percussion.start(click(60, (4, 4), 0), 0);
    let first: Vec<_> = std::iter::from_fn(|| percussion.take(3_600_050_000)).collect();
    assert_eq!(first.len(), 2, "the beat that was due 50 ms ago, and its end");
    assert_eq!(first[0].at, 3_600_000_000);
}

#[test]
fn no_note_is_left_sounding_when_the_output_is_let_go() {
    let mut percussion = Percussion::default();
    percussion.start(click(60, (4, 4), 0), 0);
    let begun = percussion.take(0).unwrap();
    assert_eq!(begun.message[..2], [0x99, 76]);
    assert_eq!(percussion.endings().collect::<Vec<_>>(), [[0x89, 76, 0]]);
}

#[test]
fn a_passage_is_notes_of_the_first_channel_and_can_be_ended() {
    let study = "evenhand study 1\ntitle A\nmetre 2/4\ntempo 60\nchunk \"A\" at bar 1\n  m: 1/4 6:3 5:3 |\n";
    let chunk = parse(study).unwrap().prepare().unwrap().remove(0);
    let passage = Passage::of_chunk(&chunk);
    let mut percussion = Percussion::default();
    percussion.play(&passage, 1_000);
    percussion.start(click(120, (2, 4), 0), 500_000);
    let all = taken(&mut percussion, 600_000, 1_000);
    let played: Vec<_> = all.iter().filter(|(_, [status, ..])| status & 0xf == 0).collect();
    let [(1_000, [0x90, 43, velocity])] = played[..] else { panic!("{all:?}") };
    assert!((1..=127).contains(velocity) && all.iter().any(|(_, message)| message[0] == 0x99));
    // What sounds is ended at once, and no further note begins.
    percussion.hush(600_000);
    percussion.stop();
    let endings: Vec<[u8; 3]> = percussion.endings().filter(|message| message[0] == 0x80).collect();
    assert!(endings.contains(&[0x80, 43, 0]), "{endings:?}");
    let rest = taken(&mut percussion, 3_000_000, 1_000);
    assert!(
        rest.iter().all(|(at, [status, ..])| *at <= 600_000 && status & 0xf0 == 0x80),
        "{rest:?}"
    );
}
