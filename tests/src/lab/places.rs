//! Where in a piece a kind of trouble can go.

use evenhand_core::measure::stretch::FEWEST_IN_A_STRETCH;
use evenhand_core::study::{Attack, ExpectedNote, Marks};

use super::piece::Piece;
use super::trouble::Trouble;
use crate::seeded::Seeded;

/// Where a fault goes: an event, and its first note or the note meant.
pub(super) struct Place {
    pub(super) event: usize,
    pub(super) note: usize,
}

/// The places of a piece.
pub(super) struct Places<'a> {
    pub(super) piece: &'a Piece,
}

impl Places<'_> {
    /// A random place where this trouble can be told from every other: a note that is late at
    /// the very end, for one, *is* a hesitation before it.
    pub(super) fn find(&self, trouble: Trouble, seeded: &mut Seeded) -> Option<Place> {
        let notes = &self.piece.notes;
        let events = self.piece.events();
        // Fewer onsets cannot tell one trouble in time from another. That they do not pass is what the
        // search looks after.
        let needed = match trouble {
            Trouble::SlowingDown | Trouble::SpeedingUp | Trouble::TempoOffClick => 6,
            Trouble::Hesitation
            | Trouble::HesitationAtShift
            | Trouble::OffBeat
            | Trouble::OnsetOffClick
            | Trouble::LateLanding
            | Trouble::SoonLanding
            | Trouble::Unsteady => 5,
            _ => 0,
        };
        if self.piece.timed() < needed {
            return None;
        }
        let inside = 1..events.len().checked_sub(1)?;
        let single = |event: usize| events[event].len() == 1;
        let shifts =
            |event: usize| events[event].clone().any(|note| notes[note].marks.has(Marks::SHIFT));
        let proper = events.last()?.end;
        let of_event = |event: usize| Place { event, note: events[event].start };
        let mut choose = |places: Vec<usize>| -> Option<usize> {
            if places.is_empty() { None } else { Some(places[seeded.index(places.len())]) }
        };
        let choose_event =
            |which: &dyn Fn(usize) -> bool, choose: &mut dyn FnMut(Vec<usize>) -> Option<usize>| {
                choose(inside.clone().filter(|&event| which(event)).collect()).map(of_event)
            };
        match trouble {
            Trouble::Hesitation => choose_event(&|event| !shifts(event), &mut choose),
            Trouble::HesitationAtShift => choose_event(&shifts, &mut choose),
            Trouble::OffBeat | Trouble::OnsetOffClick => choose_event(
                &|event| single(event) && notes[events[event].start].trill.is_none(),
                &mut choose,
            ),
            Trouble::SwappedNotes => choose_event(
                &|event| {
                    let next = event + 1;
                    let pitch = |event: usize| notes[events[event].start].pitch;
                    // The next event's first note must be its only one.
                    next < events.len()
                        && single(event)
                        && single(next)
                        && pitch(event) != pitch(next)
                        && notes[events[event].start].trill.is_none()
                },
                &mut choose,
            ),
            Trouble::SpreadChord => choose(
                (0..events.len())
                    .filter(|&event| {
                        events[event].len() > 1
                            && !events[event].clone().any(|n| notes[n].marks.has(Marks::ROLLED))
                    })
                    .collect(),
            )
            .map(of_event),
            Trouble::WeakSlurs => {
                let slurred = |note: &ExpectedNote| note.attack == Attack::Slurred;
                notes[..proper].iter().any(slurred).then_some(Place { event: 0, note: 0 })
            }
            Trouble::Unsteady => {
                // The onset of a chord is the median of its notes, so hands show less in it.
                let chords = (0..events.len()).filter(|&event| !single(event)).count();
                (chords * 4 <= events.len()).then_some(Place { event: 0, note: 0 })
            }
            Trouble::LoudNote | Trouble::SoftNote => {
                let compared = |note: &ExpectedNote| {
                    note.attack == Attack::Plucked && !note.marks.has(Marks::ACCENT)
                };
                let in_voice = |voice: u8| {
                    notes.iter().filter(|note| compared(note) && note.voice == voice).count()
                };
                let places = (0..proper)
                    .filter(|&note| compared(&notes[note]) && in_voice(notes[note].voice) >= 4)
                    .collect();
                choose(places).map(|note| Place { event: 0, note })
            }
            Trouble::WrongNote | Trouble::MissingNote => {
                // A trill that does not begin is another matter.
                let places = (0..proper).filter(|&note| notes[note].trill.is_none()).collect();
                choose(places).map(|note| Place { event: 0, note })
            }
            Trouble::ExtraNote => {
                choose_event(&|event| notes[events[event].start].trill.is_none(), &mut choose)
            }
            Trouble::ShortHeld => {
                let held = |note: &ExpectedNote| note.marks.has(Marks::HELD);
                let places = (0..proper)
                    .filter(|&note| held(&notes[note]) && notes[note].trill.is_none())
                    .collect();
                choose(places).map(|note| Place { event: 0, note })
            }
            Trouble::LongStaccato => {
                let short = |note: &usize| notes[*note].marks.has(Marks::STACCATO);
                choose((0..proper).filter(short).collect()).map(|note| Place { event: 0, note })
            }
            Trouble::LateLanding | Trouble::SoonLanding => {
                self.piece.landing().next().map(|note| Place { event: events.len(), note })
            }
            Trouble::SpreadLanding | Trouble::LandingMissing | Trouble::LandingWrong => {
                // One note alone that is not right is a landing that was not reached.
                let places: Vec<usize> = self.piece.landing().collect();
                if places.len() < 2 {
                    return None;
                }
                choose(places).map(|note| Place { event: events.len(), note })
            }
            Trouble::Rushed | Trouble::Dragged => {
                // About the middle: near an end it is a drift, too.
                if events.len() < FEWEST_FOR_A_STRETCH {
                    return None;
                }
                let rest = events.len() - stretch_of(self.piece);
                let (middle, around) = (rest / 2, rest / 8);
                choose((middle - around..=middle + around).collect()).map(of_event)
            }
            Trouble::WeakAccents => {
                let accent = |note: &ExpectedNote| {
                    note.attack == Attack::Plucked && note.marks.has(Marks::ACCENT)
                };
                notes[..proper].iter().any(accent).then_some(Place { event: 0, note: 0 })
            }
            Trouble::TrillStops | Trouble::UnevenTrill | Trouble::TrillRepeats => {
                let note = notes[..proper].iter().position(|note| note.trill.is_some())?;
                Some(Place { event: 0, note })
            }
            Trouble::SlowingDown
            | Trouble::SpeedingUp
            | Trouble::Uneven
            | Trouble::FixedVelocity
            | Trouble::OtherStrings
            | Trouble::TempoOffClick => Some(Place { event: 0, note: 0 }),
        }
    }
}

/// The fewest events in which the judge looks for a stretch (see `docs/measures.md`); a landing, far
/// from the rest, does not make up for one here.
const FEWEST_FOR_A_STRETCH: usize = 8;

/// How many events a stretch has: six, which is short against most pieces, but at most half.
pub(super) fn stretch_of(piece: &Piece) -> usize {
    (piece.events().len() / 2).clamp(FEWEST_IN_A_STRETCH, 6)
}
