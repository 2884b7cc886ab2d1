//! A trouble of a size, laid into a piece.

use evenhand_core::measure::timing::{FEWEST_FOR_DRIFT, FEWEST_FOR_STEADINESS};
use evenhand_core::player::{Fault, Skill};
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Level, Offset};

use super::piece::Piece;
use super::trouble::Trouble;
use crate::seeded::Seeded;

/// How an attempt is to be played.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The player.
    pub skill: Skill,
    /// What goes wrong.
    pub faults: Vec<Fault>,
    /// The one velocity of all notes, if there is only one.
    pub velocity: Option<u8>,
}

impl Plan {
    /// A skilled player without faults. Plucked notes are softer than usual (velocity 64), so
    /// that notes can be louder than their neighbours by as much as the table asks.
    pub fn clean() -> Self {
        let skill = Skill { plucked: Level::from_hundredths(-1_200), ..Skill::SKILLED };
        Self { skill, faults: Vec::new(), velocity: None }
    }

    /// With `trouble` of `size`, in per mille of the tolerance. `None` where the piece has no
    /// place for it.
    pub fn with(
        trouble: Trouble,
        size: u32,
        piece: &Piece,
        tolerances: &Tolerances,
        seeded: &mut Seeded,
    ) -> Option<Self> {
        let mut plan = Self::clean();
        let level = |limit: Level| {
            let hundredths = i64::from(limit.hundredths()) * i64::from(size) / 1_000;
            Level::from_hundredths(hundredths as i16)
        };
        let time = |limit: Offset| {
            Offset::from_micros((i64::from(limit.as_micros()) * i64::from(size) / 1_000) as i32)
        };
        let softer = |level: Level| Level::from_hundredths(-level.hundredths());
        let place = Places { piece }.find(trouble, seeded)?;
        let note = place.note as u16;
        if size == 0 {
            return Some(plan);
        }
        match trouble {
            Trouble::WeakSlurs => {
                plan.skill.slurs_below = level(tolerances.slur_below);
            }
            Trouble::Hesitation | Trouble::HesitationAtShift => {
                let lost = time(tolerances.hesitation.at(piece.gap(place.event)));
                plan.faults.push(Fault::Hesitation { note, lost });
            }
            Trouble::OffBeat => {
                let by = time(tolerances.single_note.at(piece.interval()));
                let by = if seeded.chance(0.5) { by } else { Offset::from_micros(-by.as_micros()) };
                plan.faults.push(Fault::OffBeat { note, by });
            }
            Trouble::Unsteady => {
                plan.skill.clock = Offset::ZERO;
                plan.skill.hands = time(tolerances.unsteadiness.at(piece.interval()));
            }
            Trouble::SlowingDown | Trouble::SpeedingUp => {
                let per_mille = (u32::from(tolerances.drift_per_mille) * size / 1_000) as i16;
                let slower = trouble == Trouble::SlowingDown;
                plan.faults.push(Fault::Drift(if slower { per_mille } else { -per_mille }));
            }
            Trouble::SpreadChord => {
                let by = time(tolerances.chord_spread);
                plan.faults.push(Fault::Spread { note, by });
            }
            Trouble::Uneven => plan.skill.loudness = level(tolerances.unevenness),
            Trouble::LoudNote => {
                plan.faults.push(Fault::Loud { note, by: level(tolerances.single_level) });
            }
            Trouble::SoftNote => {
                let by = softer(level(tolerances.single_level));
                plan.faults.push(Fault::Loud { note, by });
            }
            Trouble::WrongNote => {
                let semitones = [-2, -1, 1, 2][seeded.index(4)];
                plan.faults.push(Fault::Wrong { note, semitones });
            }
            Trouble::MissingNote => plan.faults.push(Fault::Missing(note)),
            Trouble::ExtraNote => {
                let semitones = [-3, -1, 1, 6][seeded.index(4)];
                plan.faults.push(Fault::Extra { after: note, semitones });
            }
            Trouble::SwappedNotes => plan.faults.push(Fault::Swapped(note)),
            Trouble::FixedVelocity => plan.velocity = Some(80),
        }
        Some(plan)
    }
}

/// Where a fault goes: an event, and its first note or the note meant.
struct Place {
    event: usize,
    note: usize,
}

struct Places<'a> {
    piece: &'a Piece,
}

impl Places<'_> {
    /// A random place where this trouble can be told from every other: a note that is late at
    /// the very end, for one, *is* a hesitation before it.
    fn find(&self, trouble: Trouble, seeded: &mut Seeded) -> Option<Place> {
        let notes = &self.piece.notes;
        let events = self.piece.events();
        // With fewer, the judge says nothing about timing, or too little (see `docs/measures.md`).
        let needed = match trouble {
            Trouble::SlowingDown | Trouble::SpeedingUp => FEWEST_FOR_DRIFT,
            Trouble::Hesitation
            | Trouble::HesitationAtShift
            | Trouble::OffBeat
            | Trouble::Unsteady => FEWEST_FOR_STEADINESS,
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
            Trouble::OffBeat => choose_event(
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
            Trouble::SlowingDown
            | Trouble::SpeedingUp
            | Trouble::Uneven
            | Trouble::FixedVelocity => Some(Place { event: 0, note: 0 }),
        }
    }
}
