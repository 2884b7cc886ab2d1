use super::*;
use crate::limits::PLAYED_NOTES;
use crate::pickup::Latency;

fn begun(pitch: u8, string: Option<u8>) -> NoteEvent {
    NoteEvent::Begun {
        pitch: Pitch::new(pitch).unwrap(),
        velocity: Velocity::new(80).unwrap(),
        string: string.and_then(GuitarString::new),
    }
}

fn at(millis: u64) -> Instant {
    Instant::from_micros(millis * 1_000)
}

#[test]
fn a_string_ends_its_note_when_it_begins_the_next() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(64, Some(1)), at(1_000));
    attempt.take(begun(60, Some(2)), at(1_100));
    attempt.take(begun(65, Some(1)), at(1_200));
    let lasted: std::vec::Vec<_> = attempt.notes().iter().map(|note| note.lasted).collect();
    assert_eq!(lasted, [Some(Span::from_millis(200)), None, None]);
}

#[test]
fn time_never_steps_back() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(64, None), at(1_000));
    let note = attempt.take(begun(65, None), at(900)).unwrap();
    assert_eq!(note.at, Offset::ZERO);
}

#[test]
fn a_full_attempt_counts_what_finds_no_room() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    for i in 0..PLAYED_NOTES as u64 + 3 {
        attempt.take(begun(64, None), at(i));
    }
    assert_eq!(attempt.notes().len(), PLAYED_NOTES);
    assert_eq!(attempt.beyond(), 3);
}

#[test]
fn latency_is_taken_off_by_pitch() {
    let latency = Latency { base: Offset::from_millis(3), periods_percent: 200 };
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.begin(&Pickup { latency, ..Pickup::UNKNOWN });
    // Plucked together at 1,000 ms: two periods are 6.07 ms on E4 and 24.27 ms on E2.
    attempt.take(begun(64, Some(1)), Instant::from_micros(1_009_067));
    attempt.take(begun(40, Some(6)), Instant::from_micros(1_027_270));
    let [high, low] = attempt.notes() else { panic!("two notes") };
    assert!((low.at.as_micros() - high.at.as_micros()).abs() <= 2);
    assert!(attempt.start().unwrap().as_micros().abs_diff(1_000_000) <= 2);
    // An end is as late as a beginning.
    let string = GuitarString::new(6);
    let ended = NoteEvent::Ended { pitch: Pitch::new(40).unwrap(), string };
    attempt.take(ended, Instant::from_micros(1_127_270));
    let lasted = attempt.notes()[1].lasted.unwrap().as_micros();
    assert!((lasted - 100_000).abs() <= 3, "{lasted}");
}

#[test]
fn a_corrected_pitch_has_the_time_of_its_stroke() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(52, Some(4)), at(1_000));
    attempt.take(begun(76, Some(1)), at(1_010));
    attempt.take(begun(64, Some(1)), at(1_030));
    attempt.take(begun(65, Some(1)), at(1_060));
    let times = attempt.notes().iter().map(|note| note.at.as_millis_rounded());
    assert_eq!(times.collect::<std::vec::Vec<_>>(), [0, 10, 10, 60]);
}

#[test]
fn a_bend_has_no_velocity() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    let (from, pitch) = (Pitch::new(60).unwrap(), Pitch::new(62).unwrap());
    attempt.take(begun(60, None), at(1_000));
    attempt.take(NoteEvent::Bent { from, pitch, string: None }, at(1_400));
    assert!(attempt.notes()[1].is_bent());
    assert_eq!(attempt.notes()[1].velocity, None);
}

#[test]
fn a_bend_right_after_the_stroke_has_its_velocity() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    let string = GuitarString::new(1);
    attempt.take(begun(65, Some(1)), at(1_000));
    let (from, pitch) = (Pitch::new(65).unwrap(), Pitch::new(64).unwrap());
    let note = attempt.take(NoteEvent::Bent { from, pitch, string }, at(1_012)).unwrap();
    assert_eq!(note.velocity, Velocity::new(80));
    assert_eq!(note.at, Offset::ZERO);
}

#[test]
fn a_note_begun_again_goes_on() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    let off = |pitch| NoteEvent::Ended {
        pitch: Pitch::new(pitch).unwrap(),
        string: GuitarString::new(1),
    };
    attempt.take(begun(64, Some(1)), at(1_000));
    attempt.take(off(64), at(1_029));
    let again = attempt.take(begun(64, Some(1)), at(1_030)).unwrap();
    assert_eq!(again.onset, Onset::Again);
    attempt.take(off(64), at(1_400));
    assert_eq!(attempt.notes()[0].lasted, Some(Span::from_millis(400)));
    // A later one is a note of its own.
    assert!(attempt.take(begun(64, Some(1)), at(1_470)).unwrap().is_struck());
}

#[test]
fn no_hand_repeats_a_string_within_60_ms_and_a_quick_one_does_in_100() {
    let told = |apart: u64, velocity: u8, string: Option<u8>| {
        let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
        attempt.take(begun(64, string), at(1_000));
        let event = NoteEvent::Begun {
            pitch: Pitch::new(64).unwrap(),
            velocity: Velocity::new(velocity).unwrap(),
            string: string.and_then(GuitarString::new),
        };
        let second = attempt.take(event, at(1_000 + apart)).unwrap();
        second.is_begun_again(&attempt.notes()[0])
    };
    // At 70 % of the first, as converters do that tell everything twice.
    for apart in [45, 50, 59, 60] {
        assert!(told(apart, 56, Some(1)), "{apart} ms");
    }
    // Ten strokes a second are a hand's, and so is all from the limit on.
    for (apart, velocity) in [(61, 56), (61, 30), (80, 56), (100, 56), (100, 80), (100, 30)] {
        assert!(!told(apart, velocity, Some(1)), "{apart} ms at {velocity}");
    }
    // On strings that are not known it may be two strings.
    assert!(!told(50, 56, None));
    assert!(told(40, 56, None));
}

#[test]
fn a_note_goes_on_under_its_vibrato() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    let string = GuitarString::new(1);
    let pitch = |number| Pitch::new(number).unwrap();
    let bend = |from, to| NoteEvent::Bent { from: pitch(from), pitch: pitch(to), string };
    attempt.take(begun(64, Some(1)), at(1_000));
    attempt.take(bend(64, 65), at(1_200));
    attempt.take(bend(65, 64), at(1_300));
    attempt.take(NoteEvent::Ended { pitch: pitch(64), string }, at(1_900));
    assert_eq!(attempt.notes()[0].lasted, Some(Span::from_millis(900)));
    assert_eq!(attempt.notes()[1].lasted, Some(Span::from_millis(700)));
}

#[test]
fn the_end_of_a_note_that_is_over_ends_no_other() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(64, Some(1)), at(1_000));
    attempt.take(begun(65, Some(1)), at(1_200));
    let string = GuitarString::new(1);
    attempt.take(NoteEvent::Ended { pitch: Pitch::new(64).unwrap(), string }, at(1_205));
    assert_eq!(attempt.notes()[1].lasted, None);
}

#[test]
fn fixed_velocities_are_no_velocities() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.begin(&Pickup { fixed_velocity: true, ..Pickup::UNKNOWN });
    assert_eq!(attempt.take(begun(64, Some(1)), at(1)).unwrap().velocity, None);
}

#[test]
fn a_note_may_end_on_a_string_that_was_not_known_when_it_began() {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(64, None), at(1_000));
    let pitch = Pitch::new(64).unwrap();
    attempt.take(NoteEvent::Ended { pitch, string: GuitarString::new(1) }, at(1_100));
    assert_eq!(attempt.notes()[0].lasted, Some(Span::from_millis(100)));
}

extern crate std;

/// A pitch stands in a note for so long, which then goes on: how each of the three began.
fn with_a_moment(pitch: u8, lasted: u64, string: Option<u8>) -> std::vec::Vec<Onset> {
    let attempt: &mut Attempt = &mut Attempt::<Vec<_, PLAYED_NOTES>>::new();
    attempt.take(begun(52, string), at(1_000));
    attempt.take(begun(pitch, string), at(1_200));
    attempt.take(begun(52, string), at(1_200 + lasted));
    attempt.notes().iter().map(|note| note.onset).collect()
}

#[test]
fn no_hand_leaves_a_note_for_a_moment() {
    let goes_on = [Onset::Struck, Onset::Corrected, Onset::Corrected];
    let (three_notes, string) = ([Onset::Struck; 3], Some(4));
    assert_eq!(with_a_moment(53, 40, string), goes_on);
    assert_eq!(with_a_moment(64, 200, string), goes_on, "an octave");
    // A mordent, and an octave that a hand has time for.
    assert_eq!(with_a_moment(53, 60, string), three_notes);
    assert_eq!(with_a_moment(64, 260, string), three_notes);
}
