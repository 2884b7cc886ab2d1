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
fn extras(chunk: &[ExpectedNote], mut played: Vec<PlayedNote>) -> Vec<Class> {
    played.sort_by_key(|note| note.at);
    let chunk = Chunk::new(chunk, TEMPO).unwrap();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let mut pairing = aligner.pairing(chunk.notes(), &played);
    let pickup = &Pickup::UNKNOWN;
    classify(&chunk, &played, pickup, &mut pairing.writable());
    let material = Material { chunk: &chunk, played: &played, pairing: pairing.view(), pickup };
    assert_eq!(material.right_notes().count(), chunk.notes().len(), "an expected note is hidden");
    material.extras().map(|(_, class)| class).collect()
}

fn clean() -> Vec<PlayedNote> {
    Vec::from([
        note(0, 290, 52, 4, 90),
        note(300, 290, 57, 3, 86),
        note(600, 290, 53, 4, 92),
        note(900, 290, 59, 3, 88),
    ])
}

/// The classes of added notes, and whether each is in doubt.
fn in_doubt(notes: &[PlayedNote]) -> Vec<(Class, bool)> {
    let mut played = [clean(), notes.to_vec()].concat();
    played.sort_by_key(|note| note.at);
    let all = classified(&played).into_iter().zip(&played);
    let added = all.filter(|(_, note)| notes.contains(note));
    added.map(|(note, _)| (note.class, note.sureness == Sureness::Doubtful)).collect()
}

fn with(notes: &[PlayedNote]) -> Vec<Class> {
    extras(&phrase(), [clean(), notes.to_vec()].concat())
}

#[test]
fn the_same_note_again_at_once_is_a_double_trigger() {
    assert_eq!(with(&[note(338, 250, 57, 3, 86)]), [Class::DoubleTrigger]);
    assert_eq!(with(&[note(355, 240, 57, 3, 40)]), [Class::DoubleTrigger]);
    // No hand is so quick, whatever the velocity.
    assert_eq!(with(&[note(955, 240, 59, 3, 80)]), [Class::DoubleTrigger]);
    // Later, and much weaker: open. As strong as the first: the hand's.
    assert_eq!(in_doubt(&[note(1_000, 190, 59, 3, 40)]), [(Class::DoubleTrigger, true)]);
    assert_eq!(in_doubt(&[note(1_000, 190, 59, 3, 88)]), [(Class::Repeated, false)]);
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
    assert_eq!(with(&[note(282, 18, 58, 3, 86)]), [Class::Correction]);
    // An octave off may stand longer.
    assert_eq!(with(&[note(255, 45, 69, 3, 86)]), [Class::OctaveError]);
    // Too short for a finger; as a note of its own; in between, open.
    assert_eq!(in_doubt(&[note(255, 45, 58, 3, 86)]), [(Class::Blip, true)]);
    assert_eq!(in_doubt(&[note(150, 150, 58, 3, 86)]), [(Class::Stray, false)]);
}

#[test]
fn a_weak_note_beside_another_is_a_ghost() {
    // A twelfth above the low note, and weak; short and weak; neither.
    assert_eq!(with(&[note(20, 200, 71, 2, 30)]), [Class::Ghost]);
    assert_eq!(with(&[note(20, 40, 66, 2, 30)]), [Class::Ghost]);
    assert_eq!(with(&[note(20, 40, 66, 2, 60)]), [Class::Stray]);
    // Weak, but of a note's length; short, but alone.
    assert_eq!(in_doubt(&[note(20, 200, 66, 2, 30)]), [(Class::Ghost, true)]);
    assert_eq!(with(&[note(150, 40, 66, 2, 60)]), [Class::Stray]);
}

#[test]
fn a_lifted_finger_leaves_a_trailing_pitch() {
    assert_eq!(with(&[note(1_200, 60, 55, 3, 40)]), [Class::Trailing]);
    assert_eq!(with(&[note(1_200, 60, 60, 3, 40)]), [Class::Trailing]);
    // Weak, and of a note's length: open.
    assert_eq!(in_doubt(&[note(1_200, 300, 55, 3, 40)]), [(Class::Trailing, true)]);
    assert_eq!(with(&[note(1_200, 60, 55, 3, 90)]), [Class::Stray]);
    assert_eq!(with(&[note(1_300, 60, 55, 3, 40)]), [Class::Stray]);
}

#[test]
fn where_velocities_say_nothing_shortness_is_enough() {
    let mut played: Vec<_> = clean().iter().map(|n| PlayedNote { velocity: None, ..*n }).collect();
    played.push(PlayedNote { velocity: None, ..note(20, 40, 66, 2, 1) });
    played.push(PlayedNote { velocity: None, ..note(1_200, 60, 55, 3, 1) });
    assert_eq!(extras(&phrase(), played), [Class::Ghost, Class::Trailing]);
}

#[test]
fn bends_are_told_apart() {
    let vibrato = [bend(1_000, 60, 60, 3), bend(1_060, 60, 59, 3)];
    assert_eq!(with(&vibrato), [Class::Vibrato; 2]);
    let slow =
        [100, 200, 300, 400].map(|at| bend(900 + at, 100, if at % 200 == 0 { 59 } else { 60 }, 3));
    assert_eq!(with(&slow), [Class::Vibrato; 4]);
    let slide = [bend(1_000, 50, 60, 3), bend(1_050, 50, 61, 3), bend(1_100, 50, 62, 3)];
    assert_eq!(with(&slide), [Class::Slide; 3]);
    assert_eq!(with(&[bend(1_000, 200, 60, 3)]), [Class::Bend]);
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
    let causes = extras(&notes, played.to_vec());
    assert_eq!(causes, [Class::Slide, Class::Vibrato, Class::Vibrato]);
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

fn classified(played: &[PlayedNote]) -> Vec<Classified> {
    classified_of(&phrase(), played)
}

fn classified_of(notes: &[ExpectedNote], played: &[PlayedNote]) -> Vec<Classified> {
    let chunk = Chunk::new(notes, TEMPO).unwrap();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let mut pairing = aligner.pairing(chunk.notes(), played);
    classify(&chunk, played, &Pickup::UNKNOWN, &mut pairing.writable());
    (0..played.len()).map(|by| pairing.classified(by)).collect()
}

#[test]
fn expected_notes_are_right_wrong_or_an_octave_off() {
    let mut played = clean();
    played[1].pitch = Pitch::new(58).unwrap();
    played[2].pitch = Pitch::new(65).unwrap();
    let classes: Vec<_> = classified(&played).iter().map(|note| note.class).collect();
    assert_eq!(classes, [Class::Right, Class::WrongPitch, Class::OctaveError, Class::Right]);
}

#[test]
fn of_two_notes_that_changed_places_each_is_told() {
    let played = [
        note(0, 290, 52, 4, 90),
        note(300, 290, 53, 4, 92),
        note(600, 290, 57, 3, 86),
        note(900, 290, 59, 3, 88),
    ];
    let classes: Vec<_> = classified(&played).iter().map(|note| note.class).collect();
    assert_eq!(classes, [Class::Right, Class::Overtaking, Class::Overtaken, Class::Right]);
}

#[test]
fn a_right_note_that_looks_like_noise_is_in_doubt() {
    let mut played = clean();
    // Weak, short, and right beside another string's note.
    played[1] = note(20, 30, 57, 3, 20);
    let classes = classified(&played);
    assert_eq!(classes[1].class, Class::Right);
    assert_eq!(classes[1].sureness, Sureness::Doubtful);
    assert_eq!(classes[0].sureness, Sureness::Certain);
}

#[test]
fn an_extra_note_of_an_unknown_string_is_less_sure() {
    let extra = |string| PlayedNote { string, ..note(700, 100, 70, 3, 90) };
    let with = |string| {
        let mut played = clean();
        played.insert(3, extra(string));
        classified(&played)[3]
    };
    let sure = with(GuitarString::new(3));
    assert_eq!((sure.class, sure.sureness), (Class::Stray, Sureness::Certain));
    assert_eq!(with(None).sureness, Sureness::Likely);
}

/// Notes that last and lie apart longer than a time can be told are judged like others: nothing overflows.
#[test]
fn no_time_is_too_long() {
    let ends = [i32::MIN, -1, 0, 30_000, 200_000, i32::MAX];
    for (first, second) in ends.iter().flat_map(|a| ends.map(|b| (*a, b))) {
        for lasted in [0, 40_000, i32::MAX] {
            for (pitch, string) in [(57, 3), (69, 3), (52, 4), (57, 4)] {
                let at = |at: i32, pitch: u8, string: u8| PlayedNote {
                    at: Offset::from_micros(at),
                    lasted: Some(Span::of(Offset::from_micros(lasted))),
                    ..note(0, 0, pitch, string, 90)
                };
                let mut played = Vec::from([at(first, 52, 4), at(first, 57, 3)]);
                played.extend([at(second, pitch, string), at(second, 59, 3)]);
                played.sort_by_key(|note| note.at);
                let classes = classified(&played);
                assert_eq!(classes.len(), played.len());
            }
        }
    }
}

/// Eighths on string 4 between others.
fn run() -> Vec<ExpectedNote> {
    let notes = [(47, 5), (52, 4), (53, 4), (55, 4), (57, 4), (62, 3)];
    notes
        .iter()
        .zip(0..)
        .map(|(&(pitch, string), eighth)| expected(eighth, pitch, string))
        .collect()
}

#[test]
fn strokes_that_come_with_the_pitch_before_them_are_open() {
    let sent = |times: [i32; 6]| {
        let pitches = [(47, 5), (52, 4), (52, 4), (53, 4), (55, 4), (62, 3)];
        let notes = times.iter().zip(pitches);
        let played: Vec<_> = notes.map(|(&at, (pitch, s))| note(at, 90, pitch, s, 90)).collect();
        let class = classified_of(&run(), &played)[2];
        (class.class, class.sureness == Sureness::Doubtful)
    };
    // As many strokes as are written, each in its time.
    assert_eq!(sent([0, 300, 600, 900, 1_200, 1_500]), (Class::Stale, true));
    // Struck twice in haste, and one left out later: two slips.
    assert_ne!(sent([0, 300, 420, 900, 1_200, 1_500]).0, Class::Stale);
}

#[test]
fn the_last_pitch_in_a_slurred_notes_place_is_open_and_the_next_fret_is_a_slip() {
    let after = |attack, pitch, erred: bool| {
        let mut notes = run();
        notes[3].attack = attack;
        let pitches = [(47, 5), (52, 4), (53, 4), (pitch, 4), (57, 4), (62, 3)];
        let times = (0..).step_by(300);
        let mut played: Vec<_> =
            times.zip(pitches).map(|(at, (pitch, s))| note(at, 290, pitch, s, 90)).collect();
        if erred {
            // The last note twice at once.
            played.push(PlayedNote { onset: Onset::Again, ..note(1_530, 200, 62, 3, 60) });
        }
        classified_of(&notes, &played)[3].class
    };
    let in_place = |attack, pitch| after(attack, pitch, false);
    assert_eq!(in_place(Attack::Slurred, 53), Class::Stale);
    // On the way from the one to the other, and beyond it.
    assert_eq!(in_place(Attack::Slurred, 54), Class::WrongPitch, "no mistake of the pickup's yet");
    assert_eq!(after(Attack::Slurred, 54, true), Class::Blip);
    assert_eq!(after(Attack::Slurred, 56, true), Class::WrongPitch);
    assert_eq!(after(Attack::Plucked, 54, true), Class::WrongPitch);
    assert_eq!(in_place(Attack::Plucked, 56), Class::WrongPitch);
    // Within a hand's reach, and beyond.
    assert_eq!(in_place(Attack::Plucked, 61), Class::WrongPitch);
    assert_eq!(in_place(Attack::Plucked, 70), Class::WrongPitch, "no mistake of the pickup's yet");
    assert_ne!(after(Attack::Plucked, 70, true), Class::WrongPitch);
    assert_eq!(after(Attack::Plucked, 61, true), Class::WrongPitch);
}

/// The second of the pitches on string 4 does not come, and what follows comes in its time.
fn weight_of_a_lost_note(attack: Attack) -> i32 {
    let mut notes = run();
    notes[3].attack = attack;
    let pitches = [(47, 5), (52, 4), (53, 4), (57, 4), (62, 3)];
    let times = [0, 300, 600, 1_200, 1_500].iter().zip(pitches);
    let played: Vec<_> = times.map(|(&at, (pitch, s))| note(at, 290, pitch, s, 90)).collect();
    let lost = the_only_deviation(&notes, &played);
    assert_eq!((lost.place, lost.pitch), (Some(3), None));
    lost.weight
}

fn the_only_deviation(notes: &[ExpectedNote], played: &[PlayedNote]) -> Deviation {
    let chunk = Chunk::new(notes, TEMPO).unwrap();
    let mut space = Workspace::<EXPECTED_NOTES>::new(&chunk);
    let mut aligner = space.aligner();
    (1..=played.len()).for_each(|count| aligner.push(chunk.notes(), &played[..count]));
    let mut pairing = aligner.pairing(chunk.notes(), played);
    let pickup = &Pickup::UNKNOWN;
    classify(&chunk, played, pickup, &mut pairing.writable());
    let material = Material { chunk: &chunk, played, pairing: pairing.view(), pickup };
    let rates = Rates::of(material);
    let found: Vec<_> = deviations(material, &rates).collect();
    assert_eq!(found.len(), 1, "{found:?}");
    found[0]
}

#[test]
fn a_slur_is_lost_sooner_than_a_stroke() {
    let (slur, stroke) = (Attack::Slurred, Attack::Plucked);
    assert_eq!(weight_of_a_lost_note(slur) + 4, weight_of_a_lost_note(stroke));
}

#[test]
fn strokes_that_come_with_a_pitch_on_the_way_are_open() {
    let notes: Vec<_> = [(47, 5), (52, 4), (55, 4), (57, 4), (59, 4), (62, 3)]
        .iter()
        .zip(0..)
        .map(|(&(pitch, string), eighth)| expected(eighth, pitch, string))
        .collect();
    let sent = |pitch, next| {
        let pitches = [(47, 5), (52, 4), (pitch, 4), (55, 4), (57, 4), (62, 3)];
        let times = [0, 300, 600, next, 1_200, 1_500].into_iter().zip(pitches);
        let played: Vec<_> = times.map(|(at, (pitch, s))| note(at, 90, pitch, s, 90)).collect();
        classified_of(&notes, &played)[2].class
    };
    assert_eq!(sent(53, 900), Class::Stale);
    // No pitch between the two, and a finger that comes down in two steps.
    assert_ne!(sent(50, 900), Class::Stale);
    assert_ne!(sent(53, 690), Class::Stale);
}

/// Nothing came of the first stroke on string 4, and each that follows comes with the pitch before it.
#[test]
fn a_run_that_begins_late_and_lacks_its_last_note_is_open() {
    let lost = |times: [i32; 5]| {
        let pitches = [(47, 5), (52, 4), (53, 4), (55, 4), (62, 3)];
        let played: Vec<_> =
            times.iter().zip(pitches).map(|(&at, (p, s))| note(at, 90, p, s, 90)).collect();
        the_only_deviation(&run(), &played)
    };
    let lags = lost([0, 600, 900, 1_200, 1_500]);
    assert_eq!((lags.place, lags.error), (Some(4), crate::pickup::TrackingError::Stale));
    assert!(lags.is_open);
    // A hand that waits and leaves one out later, with its time; and one that does not wait.
    let error = crate::pickup::TrackingError::Lost;
    assert_eq!(lost([0, 600, 900, 1_200, 1_800]).error, error);
    assert_eq!(lost([0, 300, 600, 900, 1_500]).error, error);
}
