//! The arrival on what comes next: the notes marked [`LANDING`](Marks::LANDING).
//!
//! It is part of what is asked for. It was *played* if something came in its place, right or wrong;
//! else it was *not played*: whoever stops at the end of the chunk has not missed a landing, but
//! has not shown one either.
//!
//! * *Slips*: its notes that were wrong or did not come. Where nothing is paired with it, what came
//!   later than half-way between the last event and the landing (at the tempo played) was meant for
//!   it, and all its notes are wrong. Unit: notes.
//! * *Time lost*: its onset (the median of its right notes) less when it was due: the last event
//!   before it, less that event's own distance from the player's tempo, plus the written
//!   interval at that tempo. Late is positive, too soon negative. Unit: microseconds. Of a chord
//!   that spreads over more than its limit, the note that came nearest counts. Not for
//!   rolled chords; where too few events came for a tempo of the player's own, the practised
//!   tempo stands in for it.
//! * *Spread*: first to last of its right notes, if there are two; not for rolled chords. Unit:
//!   microseconds, never negative.

use super::statistics::median;
use super::timing::Timing;
use super::{Material, togetherness};
use crate::align::{Origin, Role};
use crate::classify::{Rates, is_left_out, is_of_no_landing};
use crate::limits::NOTES_TOGETHER;
use crate::study::{ExpectedNote, Marks};
use crate::units::{Offset, lasting};
use core::ops::Range;
use heapless::Vec;

/// What became of a landing that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrival {
    /// It was played, right or wrong.
    Played(Landing),
    /// Nothing came in its place. With its first expected note, and how many it has.
    NotPlayed(usize, u16),
}

/// How the landing was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Landing {
    /// Its first expected note.
    pub note: usize,
    /// How many of its notes were wrong or missing, and the first of them.
    pub slips: (u16, Option<usize>),
    /// None of its notes was right, nor one that a converter may have taken for it.
    pub is_altogether_wrong: bool,
    /// First to last right note.
    pub spread: Option<Offset>,
    /// How far it may spread.
    pub may_spread: Offset,
    /// When its first right note came.
    pub first: Option<Offset>,
    /// When it came; `None` for a rolled chord.
    pub at: Option<Offset>,
}

/// What became of the landing; `None` where none is asked for.
pub fn arrival(material: Material<'_>) -> Option<Arrival> {
    let event = event(material)?;
    let notes = material.chunk.notes().get(event.clone())?;
    let mut times: Vec<i32, NOTES_TOGETHER> = Vec::new();
    let mut slips = (0, None);
    let mut is_played = false;
    for index in event.clone() {
        is_played |= material.pairing.played(index).is_some();
        match material.right(index) {
            Some(note) => {
                let _ = times.push(material.struck_at(index, note).as_micros());
            }
            // What may be the converter's doing is no slip.
            None if may_be_the_pickups(material, index) => {}
            None => {
                slips.0 += 1;
                slips.1 = slips.1.or(Some(index));
            }
        }
    }
    if !is_played && meant_for_it(material, event.start).next().is_none() {
        return Some(Arrival::NotPlayed(event.start, event.len() as u16));
    }
    let spread =
        times.iter().max().zip(times.iter().min()).map(|(last, first)| last.saturating_sub(*first));
    let rolled = notes.iter().any(|note| note.marks.has(Marks::ROLLED));
    let is_chord = times.len() >= 2 && !rolled;
    Some(Arrival::Played(Landing {
        note: event.start,
        slips,
        is_altogether_wrong: usize::from(slips.0) == event.len(),
        spread: spread.filter(|_| is_chord).map(Offset::from_micros),
        may_spread: togetherness::limit(material, &event),
        first: times.iter().min().copied().map(Offset::from_micros),
        at: median(&mut times).filter(|_| !rolled).map(Offset::from_micros),
    }))
}

/// Whether what came in place of an expected note, or that nothing did, may be the converter's doing.
fn may_be_the_pickups(material: Material<'_>, index: usize) -> bool {
    match material.class(index) {
        Some(class) => class.origin() == Origin::Pickup,
        None => {
            let wanted = material.chunk.notes().get(index);
            wanted.is_some_and(|wanted| !is_of_no_landing(material, wanted))
                && !is_left_out(material, &Rates::of(material), index)
        }
    }
}

/// The played notes that stand in the landing's place where none is paired with it; see the head
/// of this file.
pub(crate) fn meant_for_it(
    material: Material<'_>,
    landing: usize,
) -> impl Iterator<Item = usize> + use<'_> {
    let from = half_way_to(material, landing);
    let extras = (0..material.played.len()).rev();
    let extras = extras.take_while(move |&by| {
        !matches!(material.pairing.role(by), Role::Note(_) | Role::Trill(_))
    });
    let at = move |by: usize| material.played.get(by).map(|note| note.at);
    let is_slip = move |by: &usize| material.pairing.class(*by).origin() == Origin::Slip;
    extras.filter(move |&by| from.zip(at(by)).is_some_and(|(from, at)| at > from)).filter(is_slip)
}

/// The time half-way between the last right event before the landing and the landing, at the
/// tempo played: from the first right note to the last, or else as it is practised.
fn half_way_to(material: Material<'_>, landing: usize) -> Option<Offset> {
    let proper = || material.right_notes().filter(|(index, ..)| *index < landing);
    let (_, first, began) = proper().next()?;
    let (_, last, ended) = proper().max_by_key(|(index, ..)| *index)?;
    let due = material.chunk.notes().get(landing)?.onset;
    let (written, rest) = (last.onset.since(first.onset), due.since(last.onset));
    let took = ended.at.as_micros().saturating_sub(began.at.as_micros());
    let rest = if written.get() > 0 && took > 0 {
        let rest = i64::from(took) * i64::from(rest.get()) / i64::from(written.get());
        i32::try_from(rest).unwrap_or(i32::MAX)
    } else {
        material.chunk.tempo().lasting(rest).as_micros()
    };
    Some(Offset::from_micros(ended.at.as_micros().saturating_add(rest / 2)))
}

/// Time lost before the landing, and the written interval before it at the player's own tempo.
pub fn time_lost(
    material: Material<'_>,
    landing: &Landing,
    timing: &Timing,
) -> Option<(Offset, Offset)> {
    let practised = material.chunk.tempo().micros_per_quarter();
    let pace = timing.tempo.as_ref().map_or(practised, |tempo| tempo.pace);
    let written = material.chunk.notes().get(landing.note)?.onset;
    let before = timing.points.iter().rposition(|point| point.written < written)?;
    let last = timing.points.get(before)?;
    let off = timing.residuals.get(before).copied().unwrap_or(0);
    let interval = lasting(written.since(last.written), pace);
    let due = last.played.as_micros().saturating_sub(off).saturating_add(interval);
    let at = |time: Offset| time.as_micros().saturating_sub(timing.taken_off.as_micros());
    let lost = match landing.spread.zip(landing.first) {
        // Of a chord that is spread, the note that came nearest.
        Some((spread, first)) if spread > landing.may_spread => {
            let early = due.saturating_sub(at(first).saturating_add(spread.as_micros())).max(0);
            at(first).saturating_sub(due).max(0).saturating_sub(early)
        }
        _ => at(landing.at?).saturating_sub(due),
    };
    Some((Offset::from_micros(lost), Offset::from_micros(interval)))
}

/// The expected notes of the landing: the last ones of the chunk, which begin together.
fn event(material: Material<'_>) -> Option<Range<usize>> {
    let is_landing = |note: &ExpectedNote| note.marks.has(Marks::LANDING);
    let notes = material.chunk.notes();
    let start = notes.iter().position(is_landing)?;
    let onset = notes.get(start)?.onset;
    let count = notes
        .iter()
        .skip(start)
        .take_while(|note| is_landing(note) && note.onset == onset)
        .take(NOTES_TOGETHER)
        .count();
    Some(start..start + count)
}
