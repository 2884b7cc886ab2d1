extern crate std;
use super::*;
use crate::align::Workspace;
use crate::attempt::Onset;
use crate::limits::EXPECTED_NOTES;
use crate::pickup::Pickup;
use crate::study::{Attack, Chunk};
use crate::units::{GuitarString, Offset, Pitch, Span, Tempo, Ticks, Velocity};
use std::vec::Vec;

const TEMPO: Tempo = Tempo::from_micros_per_quarter(600_000).unwrap();

fn expected(eighth: u32, pitch: u8, string: u8) -> ExpectedNote {
    let length = Ticks::new(Ticks::PER_QUARTER / 2);
    let onset = Ticks::new(eighth * length.get());
    let pitch = Pitch::new(pitch).unwrap();
    ExpectedNote { string: GuitarString::new(string), ..ExpectedNote::plain(onset, length, pitch) }
}

/// Four eighths on strings 4 and 3.
fn phrase() -> Vec<ExpectedNote> {
    [(52, 4), (57, 3), (53, 4), (59, 3)]
        .iter()
        .zip(0..)
        .map(|(&(pitch, string), eighth)| expected(eighth, pitch, string))
        .collect()
}

fn note(at: i32, lasted: i32, pitch: u8, string: u8, velocity: u8) -> PlayedNote {
    PlayedNote {
        lasted: Some(Span::from_millis(lasted)),
        string: GuitarString::new(string),
        ..PlayedNote::struck(
            Offset::from_millis(at),
            Pitch::new(pitch).unwrap(),
            Velocity::new(velocity).unwrap(),
        )
    }
}

fn bend(at: i32, lasted: i32, pitch: u8, string: u8) -> PlayedNote {
    PlayedNote { velocity: None, onset: Onset::Bent, ..note(at, lasted, pitch, string, 1) }
}

/// What the notes are that the chunk does not account for, if all of the chunk was played.
fn causes(chunk: &[ExpectedNote], mut played: Vec<PlayedNote>) -> Vec<Cause> {
    played.sort_by_key(|note| note.at);
    let chunk = Chunk::new(chunk, TEMPO).unwrap();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let pairing = aligner.pairing(chunk.notes(), &played);
    let pickup = &Pickup::UNKNOWN;
    let material = Material { chunk: &chunk, played: &played, pairing: pairing.view(), pickup };
    assert_eq!(material.right_notes().count(), chunk.notes().len(), "an expected note is hidden");
    let extra = (0..played.len()).filter(|&by| pairing.role(by) == Role::Extra);
    extra.map(|by| cause(material, by)).collect()
}

fn clean() -> Vec<PlayedNote> {
    Vec::from([
        note(0, 290, 52, 4, 90),
        note(300, 290, 57, 3, 86),
        note(600, 290, 53, 4, 92),
        note(900, 290, 59, 3, 88),
    ])
}

fn with(notes: &[PlayedNote]) -> Vec<Cause> {
    causes(&phrase(), [clean(), notes.to_vec()].concat())
}

#[test]
fn the_same_note_again_at_once_is_a_double_trigger() {
    assert_eq!(with(&[note(338, 250, 57, 3, 86)]), [Cause::DoubleTrigger]);
    assert_eq!(with(&[note(355, 240, 57, 3, 40)]), [Cause::DoubleTrigger]);
    assert_eq!(with(&[note(955, 240, 59, 3, 80)]), [Cause::Repeated]);
    assert_eq!(with(&[note(1_000, 190, 59, 3, 40)]), [Cause::Repeated]);
}

#[test]
fn the_first_of_a_double_trigger_is_the_note() {
    let played = [clean(), Vec::from([note(930, 200, 59, 3, 30)])].concat();
    let notes = phrase();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    assert_eq!(aligner.pairing(chunk.notes(), &played).played(3), Some(3));
}

#[test]
fn a_double_trigger_is_not_the_next_equal_note() {
    let notes: Vec<_> = (0..4).map(|eighth| expected(eighth, 57, 3)).collect();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    // The third is left out, and the second comes twice.
    let played: Vec<_> = [0, 300, 335, 900].iter().map(|&at| note(at, 30, 57, 3, 80)).collect();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let pairing = aligner.pairing(chunk.notes(), &played);
    let pairs: Vec<_> = (0..4).map(|index| pairing.played(index)).collect();
    assert_eq!(pairs, [Some(0), Some(1), None, Some(3)]);
    assert_eq!(pairing.role(2), Role::Extra);
}

#[test]
fn a_pitch_that_the_converter_changed_is_a_correction() {
    assert_eq!(with(&[note(282, 18, 58, 3, 86)]), [Cause::Correction]);
    // An octave off may stand longer.
    assert_eq!(with(&[note(255, 45, 69, 3, 86)]), [Cause::Mistracked]);
    assert_eq!(with(&[note(255, 45, 58, 3, 86)]), [Cause::Stray]);
}

#[test]
fn a_weak_note_beside_another_is_a_ghost() {
    // A twelfth above the low note, and weak; short and weak; neither.
    assert_eq!(with(&[note(20, 200, 71, 2, 30)]), [Cause::Ghost]);
    assert_eq!(with(&[note(20, 40, 66, 2, 30)]), [Cause::Ghost]);
    assert_eq!(with(&[note(20, 40, 66, 2, 60)]), [Cause::Stray]);
    assert_eq!(with(&[note(20, 200, 66, 2, 30)]), [Cause::Stray]);
    assert_eq!(with(&[note(150, 40, 66, 2, 30)]), [Cause::Stray]);
}

#[test]
fn a_lifted_finger_leaves_a_trailing_pitch() {
    assert_eq!(with(&[note(1_200, 60, 55, 3, 40)]), [Cause::Trailing]);
    assert_eq!(with(&[note(1_200, 60, 60, 3, 40)]), [Cause::Trailing]);
    assert_eq!(with(&[note(1_200, 300, 55, 3, 40)]), [Cause::Stray]);
    assert_eq!(with(&[note(1_200, 60, 55, 3, 90)]), [Cause::Stray]);
    assert_eq!(with(&[note(1_300, 60, 55, 3, 40)]), [Cause::Stray]);
}

#[test]
fn where_velocities_say_nothing_shortness_is_enough() {
    let mut played: Vec<_> = clean().iter().map(|n| PlayedNote { velocity: None, ..*n }).collect();
    played.push(PlayedNote { velocity: None, ..note(20, 40, 66, 2, 1) });
    played.push(PlayedNote { velocity: None, ..note(1_200, 60, 55, 3, 1) });
    assert_eq!(causes(&phrase(), played), [Cause::Ghost, Cause::Trailing]);
}

#[test]
fn bends_are_told_apart() {
    let vibrato = [bend(1_000, 60, 60, 3), bend(1_060, 60, 59, 3)];
    assert_eq!(with(&vibrato), [Cause::Vibrato; 2]);
    let slow =
        [100, 200, 300, 400].map(|at| bend(900 + at, 100, if at % 200 == 0 { 59 } else { 60 }, 3));
    assert_eq!(with(&slow), [Cause::Vibrato; 4]);
    let slide = [bend(1_000, 50, 60, 3), bend(1_050, 50, 61, 3), bend(1_100, 50, 62, 3)];
    assert_eq!(with(&slide), [Cause::Slide; 3]);
    assert_eq!(with(&[bend(1_000, 200, 60, 3)]), [Cause::Bend]);
}

#[test]
fn a_bend_to_a_slurred_note_is_that_note() {
    let mut notes = phrase();
    notes[1].attack = Attack::Slurred;
    notes[1].string = GuitarString::new(4);
    notes[1].pitch = Pitch::new(54).unwrap();
    // By way of the semitone between; and vibrato on the last note.
    let played = [
        note(0, 290, 52, 4, 90),
        bend(295, 6, 53, 4),
        bend(301, 290, 54, 4),
        note(600, 290, 53, 4, 92),
        note(900, 100, 59, 3, 88),
        bend(1_000, 60, 60, 3),
        bend(1_060, 60, 59, 3),
    ];
    let causes = causes(&notes, played.to_vec());
    assert_eq!(causes, [Cause::Slide, Cause::Vibrato, Cause::Vibrato]);
}

#[test]
fn vibrato_hides_no_missing_note() {
    // The same pitch four times; the third is left out while the second swings.
    let notes: Vec<_> = (0..4).map(|eighth| expected(eighth, 57, 3)).collect();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let mut played = Vec::from([note(0, 290, 57, 3, 80), note(300, 80, 57, 3, 80)]);
    played.extend((0..5).map(|i| bend(380 + i * 90, 90, if i % 2 == 0 { 58 } else { 57 }, 3)));
    played.push(note(900, 290, 57, 3, 80));
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let pairing = aligner.pairing(chunk.notes(), &played);
    assert_eq!(pairing.played(2), None);
    assert_eq!(pairing.played(3), Some(played.len() - 1));
}
