//! Where in a piece a lapse can go.

use evenhand_core::study::{Attack, ExpectedNote, Marks};

use super::lapse::Lapse;
use crate::lab::piece::Piece;
use crate::seeded::Seeded;

/// An event, and a note of it or of the landing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) event: usize,
    pub(super) note: usize,
}

/// A place for this lapse, if the piece has one.
pub(super) fn place(piece: &Piece, lapse: Lapse, seeded: &mut Seeded) -> Option<Place> {
    let all = places(piece, lapse);
    (!all.is_empty()).then(|| all[seeded.index(all.len())])
}

/// All places for it.
fn places(piece: &Piece, lapse: Lapse) -> Vec<Place> {
    let events = piece.events();
    let notes = &piece.notes;
    let last = events.len().saturating_sub(1);
    let has = |note: usize, mark: Marks| notes[note].marks.has(mark);
    let any = |event: usize, mark: Marks| events[event].clone().any(|note| has(note, mark));
    let trills = |event: usize| events[event].clone().any(|note| notes[note].trill.is_some());
    let inside = |keep: &dyn Fn(usize) -> bool| -> Vec<Place> {
        let of = |event: usize| Place { event, note: events[event].start };
        (0..events.len()).filter(|&event| keep(event)).map(of).collect()
    };
    let proper = |keep: &dyn Fn(usize, &ExpectedNote) -> bool| -> Vec<Place> {
        let all = events
            .iter()
            .enumerate()
            .flat_map(|(event, range)| range.clone().map(move |note| Place { event, note }));
        all.filter(|place| keep(place.note, &notes[place.note])).collect()
    };
    let landing = |least: usize| -> Vec<Place> {
        let range = piece.landing();
        if range.len() < least {
            return Vec::new();
        }
        range.map(|note| Place { event: events.len(), note }).collect()
    };
    let whole = |there: bool| if there { vec![Place { event: 0, note: 0 }] } else { Vec::new() };
    let plucked = notes[..events.last().map_or(0, |event| event.end)]
        .iter()
        .filter(|note| note.attack == Attack::Plucked && !note.marks.has(Marks::ACCENT))
        .count();
    match lapse {
        Lapse::LandingLate | Lapse::LandingSoon | Lapse::LandingWrong | Lapse::SeamStop => {
            landing(1).into_iter().take(1).collect()
        }
        Lapse::LandingNoteWrong | Lapse::LandingNoteMissing => landing(2),
        Lapse::LandingSpread => landing(2).into_iter().take(1).collect(),
        Lapse::WrongNote | Lapse::MissingNote => proper(&|_, note| note.trill.is_none()),
        Lapse::MissingEvent => inside(&|event| events[event].len() > 1 && !trills(event)),
        Lapse::ExtraNote => {
            // After the last note of all, a note belongs to nothing.
            let lands = !piece.landing().is_empty();
            inside(&|event| !trills(event) && (event < last || lands))
        }
        Lapse::Swapped => inside(&|event| {
            let next = event + 1;
            let single = |event: usize| events[event].len() == 1 && !trills(event);
            let pitch = |event: usize| notes[events[event].start].pitch;
            next < events.len() && single(event) && single(next) && pitch(event) != pitch(next)
        }),
        Lapse::Gap => inside(&|event| event > 0 && event < last && !any(event, Marks::SHIFT)),
        Lapse::GapAtShift => inside(&|event| event > 0 && event < last && any(event, Marks::SHIFT)),
        Lapse::GapBeforeLast => inside(&|event| event > 0 && event == last),
        Lapse::LateNote | Lapse::EarlyNote => {
            // The onset of what is rolled is anybody's guess, and a trill's first note is nothing
            // without it.
            inside(&|event| !any(event, Marks::ROLLED) && !trills(event))
        }
        Lapse::Scatter
        | Lapse::SlowingDown
        | Lapse::SpeedingUp
        | Lapse::SecondHalfFaster
        | Lapse::SecondHalfSlower => whole(events.len() >= 3),
        Lapse::LoudNote | Lapse::SoftNote => proper(&|_, note| {
            let compared = note.attack == Attack::Plucked && !note.marks.has(Marks::ACCENT);
            compared && plucked >= 3 && note.trill.is_none()
        }),
        Lapse::WeakSlurs => {
            let slurred = |note: &ExpectedNote| note.attack == Attack::Slurred;
            whole(plucked >= 3 && notes.iter().any(slurred))
        }
        Lapse::ChordSpread => {
            inside(&|event| events[event].len() > 1 && !any(event, Marks::ROLLED))
        }
        Lapse::Uneven => whole(plucked >= 4),
        Lapse::ShortHeld => proper(&|_, note| note.marks.has(Marks::HELD) && note.trill.is_none()),
        Lapse::LongStaccato => proper(&|_, note| note.marks.has(Marks::STACCATO)),
        Lapse::NoAccents => {
            let accent = |note: &ExpectedNote| {
                note.attack == Attack::Plucked && note.marks.has(Marks::ACCENT)
            };
            whole(plucked >= 3 && notes.iter().any(accent))
        }
        Lapse::TrillStops | Lapse::UnevenTrill | Lapse::TrillRepeats => {
            proper(&|_, note| note.trill.is_some()).into_iter().take(1).collect()
        }
    }
}
