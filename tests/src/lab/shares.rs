//! Sizes of trouble that are no plain multiples of a limit.

use evenhand_core::measure::statistics::median;
use evenhand_core::measure::trill::FEWEST_NOTES;
use evenhand_core::player::{Fault, Skill};
use evenhand_core::units::{GuitarString, Offset};

use super::piece::Piece;
use crate::seeded::Seeded;

/// What is left of a whole, in per mille, of which the limit wants `least`: at once the limit it
/// falls short by what the limit lets it, at twice by twice as much. `None` where nothing is left.
pub(super) fn short_of(least: u16, size: u32) -> Option<u16> {
    let may_lack = u32::from(1_000_u16.saturating_sub(least));
    let left = 1_000_u32.checked_sub(may_lack * size / 1_000)?;
    (left > 0).then_some(left as u16)
}

/// How late the landing is. Too soon, it must still come after the event before it, by a quarter
/// of the time between them; else the notes change places, and `None` is given.
pub(super) fn landing_by(piece: &Piece, late: Offset, too_soon: bool) -> Option<Offset> {
    let gap = piece.gap_before_landing();
    if !too_soon {
        return Some(late);
    }
    let fits = i64::from(late.as_micros()) * 4 <= i64::from(gap.as_micros()) * 3;
    fits.then_some(Offset::from_micros(-late.as_micros()))
}

/// How far a trill must be played to be measured as `covers` per mille of its length. It ends with
/// a whole note, so the nearest to it is meant: half a note to either side. `None` if that leaves
/// no trill at all.
pub(super) fn trill_covers(piece: &Piece, note: usize, skill: Skill, covers: u16) -> Option<u16> {
    // The player stops where the next note would not be over before that, which leaves up to one.
    let length = i64::from(piece.tempo.lasting(piece.notes[note].duration).as_micros());
    let interval = 100_000_000 / i64::from(skill.trill_rate);
    let until = length * i64::from(covers) / 1_000 + interval / 2;
    let fewest = i64::from(FEWEST_NOTES) * interval;
    (until - interval >= fewest).then_some((until * 1_000 / length) as u16)
}

/// So many per mille of the notes, to the nearest note, on the next lower string. `None` where
/// there are not enough that can be played there.
pub(super) fn elsewhere(piece: &Piece, share: u16, seeded: &mut Seeded) -> Option<Vec<Fault>> {
    /// The open strings, highest first: E4, B3, G3, D3, A2, E2 (MIDI 1.0: 60 is C4).
    const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];
    let known = piece.notes.iter().filter(|note| note.string.is_some()).count();
    let count = (known * usize::from(share) + 500) / 1_000;
    let lower = |note: usize| {
        let string = piece.notes[note].string?.number();
        let open = OPEN.get(usize::from(string))?;
        let reaches = piece.notes[note].pitch.number() >= *open;
        let string = GuitarString::new(string + 1);
        let may = reaches && piece.notes[note].trill.is_none() && !rings(piece, note, string);
        string.filter(|_| may)
    };
    let single = piece.events().into_iter().filter(|event| event.len() == 1);
    let mut places: Vec<(usize, GuitarString)> =
        single.filter_map(|event| Some((event.start, lower(event.start)?))).collect();
    seeded.shuffle(&mut places);
    if places.len() < count {
        return None;
    }
    places.truncate(count);
    let moved = |(note, string)| Fault::OtherString { note: note as u16, string };
    Some(places.into_iter().map(moved).collect())
}

/// Whether another note is written to sound on that string while this one does: it would be cut off.
fn rings(piece: &Piece, note: usize, string: Option<GuitarString>) -> bool {
    let this = &piece.notes[note];
    piece.notes.iter().any(|other| {
        other.string == string
            && other.onset < this.onset.plus(this.duration)
            && this.onset < other.onset.plus(other.duration)
    })
}

/// How much slower (per mille of a beat's length; faster is negative) the events `from` to `to` must
/// be played to be measured as `shown` against the pace of the whole, at which they pull: the pace
/// is the median of the slopes over all pairs of events, and each has its share of the stretch.
pub(super) fn stretched(piece: &Piece, (from, to): (usize, usize), shown: i32) -> i16 {
    let onsets: Vec<i32> = piece
        .events()
        .iter()
        .map(|event| &piece.notes[event.start])
        .chain(piece.landing().next().map(|note| &piece.notes[note]))
        .map(|note| note.onset.get() as i32)
        .collect();
    let inside = |onset: i32| onset.clamp(onsets[from], onsets[to]);
    let mut shares = Vec::new();
    for (index, &first) in onsets.iter().enumerate() {
        let share = |&last: &i32| (inside(last) - inside(first)) * 1_000 / (last - first);
        shares.extend(onsets[index + 1..].iter().map(share));
    }
    let pull = median(&mut shares).expect("several events");
    // Played p slower, it is measured as (1 + p) / (1 + pull · p) − 1.
    (shown * 1_000 / (1_000 - pull - pull * shown / 1_000)) as i16
}
