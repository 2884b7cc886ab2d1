//! Where one thing ends and the next begins, and the same pitches are in both: the last notes of a
//! chunk, a landing that the chunk begins with, a trill that goes over into the next. As `listen`
//! hears them, looped.

use evenhand::study::Prepared;
use evenhand_core::player::Fault;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::Offset;
use evenhand_core::verdict::{Kind, Severity};
use evenhand_tests::lab::line::{With, line};
use evenhand_tests::lab::live::heard;
use evenhand_tests::lab::piece::{Group, Piece};
use evenhand_tests::lab::plan::Plan;
use evenhand_tests::paths::Lateness;
use std::collections::BTreeMap;

/// Players who play each fault, three times in a row.
const PLAYERS: u64 = 20;

/// What all attempts fail for, counted; `None` stands for what went by without a word.
fn fails(piece: &Piece, fault: Option<Fault>, lateness: Lateness) -> BTreeMap<Option<String>, u64> {
    let chunk: [Prepared; 1] = [piece.prepared(PracticeLevel::Steady)];
    let plan = Plan { faults: fault.into_iter().collect(), ..Plan::clean() };
    let mut told = BTreeMap::new();
    for seed in 0..PLAYERS {
        for heard in heard(&chunk, &plan, 3, lateness, seed) {
            if heard.outcome.is_none() {
                *told.entry(None).or_default() += 1;
            }
            for finding in heard.findings.iter().filter(|f| f.severity == Severity::Fails) {
                *told.entry(Some(format!("{:?}", finding.kind))).or_default() += 1;
            }
        }
    }
    told
}

/// Each attempt is told this, and nothing else.
fn only(kind: Kind) -> BTreeMap<Option<String>, u64> {
    BTreeMap::from([(Some(format!("{kind:?}")), 3 * PLAYERS)])
}

fn of_the_study(name: &str) -> Piece {
    let pieces = Group::Study.pieces(With::Nothing);
    pieces.into_iter().find(|piece| piece.name == name).expect("a chunk of the bundled study")
}

#[test]
fn the_last_pitch_touched_too_soon_is_not_the_last_note() {
    let piece = line(8, 2, With::Nothing);
    // A semitone above the last but one: the last note's pitch.
    let fault = Fault::Extra { after: 6, semitones: 1 };
    for lateness in [Lateness::None, Lateness::TwoPeriods] {
        assert_eq!(fails(&piece, Some(fault), lateness), only(Kind::ExtraNotes));
    }
}

#[test]
fn two_of_the_last_notes_that_changed_places_are_told_as_that() {
    let piece = line(16, 4, With::Nothing);
    for note in [13, 14] {
        let told = fails(&piece, Some(Fault::Swapped(note)), Lateness::None);
        assert_eq!(told, only(Kind::SwappedNotes), "{note}");
    }
}

#[test]
fn a_landing_is_not_filled_up_from_the_next_attempt() {
    // It begins with the upper note of its landing.
    let piece = of_the_study("Two shifts to the top");
    for missing in piece.landing() {
        let told = fails(&piece, Some(Fault::Missing(missing as u16)), Lateness::None);
        assert_eq!(told, only(Kind::LandingNotes), "{missing}");
    }
}

#[test]
fn a_trill_that_goes_over_into_the_next_begins_it_in_time() {
    let piece = of_the_study("Harbour engine on A");
    let told = fails(&piece, None, Lateness::TwoPeriods);
    assert_eq!(told, BTreeMap::new());
    // The same pitch twice at the end of the first: either could be the second trill's first note.
    let told = fails(&piece, Some(Fault::TrillRepeats(1)), Lateness::TwoPeriods);
    let in_both = BTreeMap::from([(Some(format!("{:?}", Kind::TrillRepeats)), 6 * PLAYERS)]);
    assert_eq!(told, in_both);
}

#[test]
fn time_lost_beside_the_beginning_of_a_trill_is_told() {
    let piece = of_the_study("Harbour engine on A");
    // Before the chord that follows the second trill's beginning: more than two notes of the trill.
    let fault = Fault::Hesitation { note: 11, lost: Offset::from_millis(300) };
    assert_eq!(fails(&piece, Some(fault), Lateness::None), only(Kind::Hesitation));
}
