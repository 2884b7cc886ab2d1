extern crate std;
use super::super::{Skill, perform};
use super::*;
use crate::notes::{Converter, NoteEvent};
use crate::pickup::Latency;
use crate::study::{Chunk, ExpectedNote};
use crate::units::{Level, Pitch, Tempo, Ticks};
use crate::wire::Wire;
use std::vec::Vec as StdVec;

const TEMPO: Tempo = Tempo::from_micros_per_quarter(1_200_000).unwrap();

/// Plucked and slurred notes in turn on string 2.
fn phrase() -> StdVec<ExpectedNote> {
    let quarter = Ticks::new(Ticks::PER_QUARTER);
    (0..8)
        .map(|i| {
            let onset = Ticks::new(u32::from(i) * quarter.get());
            let attack = if i % 2 == 0 { Attack::Plucked } else { Attack::Slurred };
            let pitch = Pitch::new(60 + 2 * (i % 2)).unwrap();
            let string = GuitarString::new(2);
            ExpectedNote { string, attack, ..ExpectedNote::plain(onset, quarter, pitch) }
        })
        .collect()
}

fn sent(artefacts: &Artefacts, seed: u64) -> StdVec<Message> {
    let notes = phrase();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let performance = perform(&chunk, TEMPO, Skill::MACHINE, &[], seed);
    transmit(&performance, artefacts, seed).messages().to_vec()
}

fn kinds(messages: &[Message]) -> [usize; 3] {
    [0x90, 0x80, 0xe0].map(|kind| messages.iter().filter(|m| m.bytes[0] & 0xf0 == kind).count())
}

#[test]
fn a_perfect_pickup_sends_what_is_played() {
    let messages = sent(&Artefacts::NONE, 1);
    assert_eq!(kinds(&messages), [8, 8, 0]);
    assert_eq!(messages[0].bytes[..2], [0x91, 60]);
    assert!(messages.is_sorted_by_key(|message| message.at));
}

#[test]
fn slurs_as_bends_are_heard_as_slurs() {
    let messages = sent(&Artefacts { slurs_as_bends: true, ..Artefacts::NONE }, 1);
    // Three bends up for each slur, and one back after it.
    assert_eq!(kinds(&messages), [4, 4, 16]);
    let mut converter = Converter::new(&Artefacts::NONE.pickup);
    let mut wire = Wire::new();
    let events: StdVec<_> = messages
        .iter()
        .flat_map(|message| message.bytes)
        .filter_map(|byte| wire.push(byte))
        .filter_map(|message| converter.hear(&message))
        .collect();
    let bends = events.iter().filter_map(|event| match event {
        NoteEvent::Bent { pitch, .. } => Some(pitch.number()),
        _ => None,
    });
    assert_eq!(bends.collect::<StdVec<_>>(), [61, 62].repeat(4));
}

#[test]
fn latency_and_levels_are_the_pickups() {
    let mut pickup = Artefacts::NONE.pickup;
    pickup.latency = Latency { base: Offset::from_millis(5), periods_percent: 0 };
    pickup.string_levels[1] = Level::from_hundredths(-300);
    let plain = sent(&Artefacts::NONE, 1);
    let late = sent(&Artefacts { pickup, ..Artefacts::NONE }, 1);
    assert_eq!(late[0].at.as_micros() - plain[0].at.as_micros(), 5_000);
    // 40 · log10(v / 90) = −3 dB at v = 75.7.
    assert_eq!((plain[0].bytes[2], late[0].bytes[2]), (90, 76));
}

#[test]
fn everything_happens_where_everything_is_asked_for() {
    let all = |artefacts: Artefacts| kinds(&sent(&artefacts, 1));
    assert_eq!(all(Artefacts { double_triggers: 1_000, ..Artefacts::NONE })[0], 16);
    assert_eq!(all(Artefacts { late_corrections: 1_000, ..Artefacts::NONE })[0], 16);
    assert!(all(Artefacts { vibrato: 1_000, ..Artefacts::NONE })[2] > 8 * 50);
    assert!(all(Artefacts { ghosts: 1_000, ..Artefacts::NONE })[0] >= 12);
    let octaves = sent(&Artefacts { octave_errors: 1_000, ..Artefacts::NONE }, 1);
    assert!(octaves.iter().all(|message| !matches!(message.bytes[1], 60 | 62)));
    let fixed = Artefacts { fixed_velocity: Velocity::new(100), ..Artefacts::NONE };
    let messages = sent(&fixed, 1);
    assert!(messages.iter().filter(|m| m.bytes[0] == 0x91).all(|m| m.bytes[2] == 100));
    let late = sent(&Artefacts { late_doubles: 1_000, ..Artefacts::NONE }, 1);
    assert!(kinds(&late)[0] > 8 && late.iter().filter(|m| m.bytes[2] > 80).count() <= 8);
    assert_eq!(all(Artefacts { lost: 1_000, ..Artefacts::NONE })[0], 0);
    let stale = sent(&Artefacts { stale: 1_000, ..Artefacts::NONE }, 1);
    assert!(stale.iter().filter(|m| m.bytes[0] == 0x91).all(|message| message.bytes[1] == 60));
    // The last note has room for a false pitch after it.
    assert!(all(Artefacts { trailing: 1_000, ..Artefacts::NONE })[0] > 8);
}

#[test]
fn the_seed_decides() {
    let noisy = Artefacts { ghosts: 300, double_triggers: 300, ..Artefacts::NONE };
    assert_eq!(sent(&noisy, 5), sent(&noisy, 5));
    assert_ne!(sent(&noisy, 5), sent(&noisy, 6));
}
