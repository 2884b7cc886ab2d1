//! Expected notes of which nothing came: whether a hand left them out.
//!
//! A stroke of the pitch that its string sounds already is lost by converters without a trace: the first
//! note goes on. Nor does a hand that leaves such a stroke out end that note. So where the note before was
//! heard past the time of the stroke, it is open who it was, however good the pickup; else it is weighed
//! how often this pickup loses a note of that string.

use super::lagging::ends_a_lag;
use super::neighbours::MILLI;
use super::rates::{PARTS, Rates};
use super::suspects::LAGS;
use super::weight::{ENOUGH, HAND_MISSES, decibans};
use crate::align::Material;
use crate::attempt::PlayedNote;
use crate::pickup::TrackingError;
use crate::study::{Attack, ExpectedNote, Marks};

/// A note that sounds so much longer than up to a stroke went on. Our default: longer than hands
/// are late, shorter than notes.
const PAST_IT: i32 = 40 * MILLI;

/// An expected note of which nothing came.
#[derive(Clone, Copy)]
pub(super) struct Nothing {
    /// What the converter would have done.
    pub(super) error: TrackingError,
    /// How much speaks for the hand, in decibans.
    pub(super) weight: i32,
    /// It is open whose doing it is; else a hand left it out.
    pub(super) is_open: bool,
}

/// Whose doing it is that nothing came of the expected note `index`.
pub(super) fn nothing_came(
    material: Material<'_>,
    rates: &Rates,
    index: usize,
    wanted: &ExpectedNote,
) -> Nothing {
    let goes_on = goes_on(material, index);
    let (error, looks) = match () {
        () if goes_on => (TrackingError::LostRepeat, 0),
        () if ends_a_lag(material, index) => (TrackingError::Stale, LAGS),
        () => (TrackingError::Lost, as_lost(wanted)),
    };
    let weight = decibans(HAND_MISSES, rates.of_error(error, wanted.string, None)) + looks;
    Nothing { error, weight, is_open: goes_on || weight < ENOUGH }
}

/// Whether an expected note belongs to a landing of which nothing came: that was not played, and has a rule of
/// its own.
pub(crate) fn is_of_no_landing(material: Material<'_>, note: &ExpectedNote) -> bool {
    let is_landing = |note: &ExpectedNote| note.marks.has(Marks::LANDING);
    let mut notes = material.chunk.notes().iter().enumerate();
    is_landing(note)
        && !notes.any(|(index, note)| is_landing(note) && material.pairing.played(index).is_some())
}

/// Whether a hand left out the expected note `index`, of which nothing came; else it is open whether the
/// converter lost it.
pub(crate) fn is_left_out(material: Material<'_>, rates: &Rates, index: usize) -> bool {
    let wanted = material.chunk.notes().get(index);
    wanted.is_some_and(|wanted| !nothing_came(material, rates, index, wanted).is_open)
}

/// Of so many slurred notes in a row on the string of an expected one, how many may lack, or come as the one before,
/// by the pickup's doing: three times what is to be expected of one that has made a mistake, and one. None of one
/// that has made none. Our default.
pub(crate) fn may_be_the_pickups(
    material: Material<'_>,
    rates: &Rates,
    index: usize,
    notes: u16,
) -> u16 {
    if !rates.has_erred(None) {
        return 0;
    }
    let string = material.chunk.notes().get(index).and_then(|note| note.string);
    let both = [TrackingError::Lost, TrackingError::Stale];
    let rate: u32 = both.iter().map(|&error| rates.of_error(error, string, None)).sum();
    (1 + 3 * rate * u32::from(notes) / PARTS) as u16
}

/// How much more speaks for the hand than how often each loses a note: a slur begins so softly that converters
/// lose it oftener than a stroke. Our default; a free pitch tracker did on strings that we made.
fn as_lost(wanted: &ExpectedNote) -> i32 {
    if wanted.attack == Attack::Slurred { -4 } else { 0 }
}

/// Whether the same note sounded already, on its string where that is known, and was heard past the time
/// of the expected note `index`.
pub(crate) fn goes_on(material: Material<'_>, index: usize) -> bool {
    let Some(before) = struck_before(material, index) else { return false };
    let Some(lasted) = before.lasted else { return true };
    let end = before.at.as_micros().saturating_add(lasted.as_micros());
    due(material, index).is_some_and(|due| end >= due.saturating_add(PAST_IT))
}

/// The last note that was heard on the string of an expected one, if all that is written there since is of
/// its pitch.
fn struck_before<'a>(material: Material<'a>, index: usize) -> Option<&'a PlayedNote> {
    let notes = material.chunk.notes();
    let wanted = notes.get(index)?;
    for before in (0..index).rev() {
        let note = notes.get(before)?;
        let is_there = if wanted.string.is_some() {
            note.string == wanted.string
        } else {
            note.pitch == wanted.pitch
        };
        if !is_there {
            continue;
        }
        if note.pitch != wanted.pitch {
            return None;
        }
        if let Some(played) = material.right(before) {
            return Some(played);
        }
    }
    None
}

/// When an expected note was due, by the right notes before and after it; by the tempo that is practised,
/// where there is none after it.
fn due(material: Material<'_>, index: usize) -> Option<i32> {
    let onset = material.chunk.notes().get(index)?.onset;
    let mut before = None;
    let mut after = None;
    for (_, wanted, played) in material.right_notes() {
        let here = (wanted.onset, played.at.as_micros());
        if wanted.onset <= onset {
            before = Some(here);
        } else {
            after = Some(here);
            break;
        }
    }
    let (from, began) = before?;
    let since = i64::from(onset.since(from).get());
    let passed = match after {
        Some((to, ended)) => {
            let written = i64::from(to.since(from).get()).max(1);
            i64::from(ended.saturating_sub(began)) * since / written
        }
        None => material.chunk.tempo().lasting(onset.since(from)).as_micros().into(),
    };
    i32::try_from(passed).ok().map(|passed| began.saturating_add(passed))
}
