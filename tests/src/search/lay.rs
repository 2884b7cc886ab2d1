//! A lapse of a size, laid into a piece.

use evenhand_core::player::{Fault, Skill};
use evenhand_core::study::Marks;
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Level, Offset};

use super::extent::{CLEAR, Extent};
use super::lapse::Lapse;
use super::places::place;
use crate::lab::piece::Piece;
use crate::seeded::Seeded;

/// How an attempt is played.
#[derive(Clone, Debug)]
pub(crate) struct Laid {
    pub(crate) skill: Skill,
    pub(crate) faults: Vec<Fault>,
}

/// The player of all attempts around a lapse: soft enough that one note can be as much louder as
/// it has to be (velocity 127 is 0 dB).
pub(super) fn skill(lapse: Option<Lapse>, tolerances: &Tolerances) -> Skill {
    let hundredths = match lapse {
        Some(Lapse::LoudNote) => {
            let loudest = tolerances.single_level.hundredths() * CLEAR as i16;
            -(loudest.max(2_000) + 100)
        }
        Some(Lapse::Uneven) => -1_800,
        _ => return Skill::SKILLED,
    };
    Skill { plucked: Level::from_hundredths(hundredths), ..Skill::SKILLED }
}

/// The attempt with the lapse; none where the piece has no place for it, or it cannot be so large.
pub(crate) fn lay(
    lapse: Lapse,
    extent: Extent,
    piece: &Piece,
    tolerances: &Tolerances,
    seeded: &mut Seeded,
) -> Option<Laid> {
    let mut skill = skill(Some(lapse), tolerances);
    let place = place(piece, lapse, seeded)?;
    let up = seeded.chance(0.5);
    let note = place.note as u16;
    let events = piece.events();
    let mut faults = Vec::new();
    let negative = |time: Offset| Offset::from_micros(-time.as_micros());
    let softer = |level: Level| Level::from_hundredths(-level.hundredths());
    match lapse {
        Lapse::LandingLate if extent == Extent::Whole => {
            faults.extend(piece.landing().map(|note| Fault::Missing(note as u16)));
        }
        Lapse::LandingLate => {
            let lost = extent.time(tolerances.hesitation.at(piece.gap_before_landing()));
            faults.push(Fault::Hesitation { note, lost });
        }
        Lapse::LandingSoon => {
            let gap = piece.gap_before_landing();
            let soon = extent.time(tolerances.hesitation.at(gap));
            // It must still come after what is before it.
            if i64::from(soon.as_micros()) * 4 > i64::from(gap.as_micros()) * 3 {
                return None;
            }
            faults.push(Fault::Hesitation { note, lost: negative(soon) });
        }
        // The landing is played by the next chunk.
        Lapse::SeamStop => {
            faults.extend(piece.landing().map(|note| Fault::Missing(note as u16)));
        }
        Lapse::LandingNoteWrong | Lapse::WrongNote => {
            faults.push(wrong(piece, place.note, extent, up)?);
        }
        Lapse::LandingWrong => {
            for note in piece.landing() {
                faults.push(wrong(piece, note, extent, up)?);
            }
        }
        Lapse::LandingNoteMissing | Lapse::MissingNote => faults.push(Fault::Missing(note)),
        Lapse::MissingEvent => {
            faults.extend(events[place.event].clone().map(|note| Fault::Missing(note as u16)));
        }
        Lapse::LandingSpread | Lapse::ChordSpread => {
            faults.push(Fault::Spread {
                note,
                by: extent.time(piece.may_spread(note, tolerances.chord_spread)),
            });
        }
        Lapse::ExtraNote => {
            let semitones = semitones(piece, place.note, extent, up)?;
            faults.push(Fault::Extra { after: note, semitones });
        }
        Lapse::Swapped => faults.push(Fault::Swapped(note)),
        Lapse::Gap | Lapse::GapAtShift | Lapse::GapBeforeLast => {
            let lost = extent.time(tolerances.hesitation.at(piece.gap(place.event)));
            faults.push(Fault::Hesitation { note, lost });
        }
        Lapse::LateNote | Lapse::EarlyNote => {
            let by = extent.time(tolerances.single_note.at(piece.interval()));
            let late = lapse == Lapse::LateNote;
            if room(piece, place.event, late).is_some_and(|room| by > room) {
                return None;
            }
            let by = if late { by } else { negative(by) };
            let moved = |note: usize| Fault::OffBeat { note: note as u16, by };
            faults.extend(events[place.event].clone().map(moved));
        }
        Lapse::Scatter => {
            skill.clock = Offset::ZERO;
            skill.hands = extent.time(tolerances.unsteadiness.at(piece.interval()));
        }
        Lapse::SlowingDown => faults.push(Fault::Drift(extent.share(tolerances.drift_per_mille))),
        Lapse::SpeedingUp => faults.push(Fault::Drift(-extent.share(tolerances.drift_per_mille))),
        Lapse::SecondHalfFaster | Lapse::SecondHalfSlower => {
            let per_mille = extent.share(tolerances.drift_per_mille);
            let faster = lapse == Lapse::SecondHalfFaster;
            let per_mille = if faster { -per_mille } else { per_mille };
            let from = events[events.len() / 2].start as u16;
            let to = piece.notes.len() as u16 - 1;
            faults.push(Fault::Stretch { from, to, per_mille });
        }
        Lapse::LoudNote => {
            faults.push(Fault::Loud { note, by: extent.level(tolerances.single_level) });
        }
        Lapse::SoftNote => {
            faults.push(Fault::Loud { note, by: softer(extent.level(tolerances.single_level)) });
        }
        Lapse::WeakSlurs => skill.slurs_below = extent.level(tolerances.slur_below),
        Lapse::Uneven => skill.loudness = extent.level(tolerances.unevenness),
        Lapse::ShortHeld => {
            let per_mille = left_of(tolerances.held_per_mille, extent);
            faults.push(Fault::Lasts { note, per_mille });
        }
        Lapse::LongStaccato => {
            let short = |note: &usize| piece.notes[*note].marks.has(Marks::STACCATO);
            let long = |note: usize| Fault::Lasts { note: note as u16, per_mille: 1_000 };
            faults.extend((0..piece.notes.len()).filter(short).map(long));
        }
        Lapse::NoAccents => {
            if tolerances.accent_above == Level::ZERO {
                return None;
            }
            faults.push(Fault::Accents(Level::ZERO));
        }
        Lapse::TrillStops => {
            let per_mille = left_of(tolerances.trill_cover_per_mille, extent);
            faults.push(Fault::TrillStops(per_mille));
        }
        Lapse::UnevenTrill => {
            let per_mille = extent.share(tolerances.trill_unevenness_per_mille);
            faults.push(Fault::UnevenTrill(per_mille.unsigned_abs()));
        }
        // At `first` one note in eight of the trill is allowed.
        Lapse::TrillRepeats => {
            let written = piece.tempo.lasting(piece.notes[place.note].duration).as_micros();
            let notes = i64::from(written) * i64::from(skill.trill_rate) / 100_000_000;
            let allowed = match tolerances.notes_a_slip {
                0 => 1,
                one_in => (notes as u16).div_ceil(one_in),
            };
            // Every other note of a trill can repeat the one before it.
            let most = notes as u16 / 2;
            if allowed * CLEAR > most {
                return None;
            }
            faults.push(Fault::TrillRepeats(allowed * CLEAR));
        }
    }
    Some(Laid { skill, faults })
}

/// The time that is lost between neighbours.
pub(super) fn lost_at_seam(extent: Extent, piece: &Piece, tolerances: &Tolerances) -> Offset {
    extent.time(tolerances.hesitation.at(piece.gap_before_landing()))
}

/// How far an event can be moved so that it still comes clearly before the next one (after the one
/// before, if it is early), which chance moves, too: what goes further is no note off the beat, but
/// another order. None where there is no neighbour.
fn room(piece: &Piece, event: usize, late: bool) -> Option<Offset> {
    const CLEARLY: i32 = 60_000;
    let start = piece.events()[event].start;
    let this = piece.notes[start].onset;
    let next = if late {
        piece.notes.iter().map(|note| note.onset).find(|&onset| onset > this)?.since(this)
    } else {
        this.since(piece.notes[piece.events()[event.checked_sub(1)?].start].onset)
    };
    Some(Offset::from_micros((piece.tempo.lasting(next).as_micros() - CLEARLY).max(0)))
}

/// What is left, in per mille, of what must be `least`: hardly anything where it is left out, or
/// where more is lacking than there is.
fn left_of(least: u16, extent: Extent) -> u16 {
    const HARDLY_ANYTHING: u16 = 20;
    if extent == Extent::Whole {
        return HARDLY_ANYTHING;
    }
    let lacks = extent.share(1_000_u16.saturating_sub(least)).unsigned_abs();
    1_000_u16.saturating_sub(lacks).max(HARDLY_ANYTHING)
}

/// The note so many semitones off, on its string.
fn wrong(piece: &Piece, note: usize, extent: Extent, up: bool) -> Option<Fault> {
    let semitones = semitones(piece, note, extent, up)?;
    Some(Fault::Wrong { note: note as u16, semitones })
}

/// How far off: downwards only where that is still on the string.
fn semitones(piece: &Piece, note: usize, extent: Extent, up: bool) -> Option<i8> {
    /// The open strings of the standard tuning, string 1 first (MIDI 1.0: 60 is C4).
    const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];
    let Extent::Semitones(semitones) = extent else { return None };
    let note = &piece.notes[note];
    let open = note.string.and_then(|string| OPEN.get(usize::from(string.number()) - 1));
    let lowest = i16::from(open.copied().unwrap_or(40));
    let below = i16::from(note.pitch.number()) - i16::from(semitones);
    Some(if up || below < lowest { semitones } else { -semitones })
}
