//! Bends that no slur accounts for: what they are.

use super::neighbours::{Around, MILLI, apart};
use crate::align::Class;
use crate::attempt::PlayedNote;

/// A vibrato is back within this time. Our default: a little less than half a swing of the
/// slowest usual vibrato (5 a second; common practice).
const RETURNS: i32 = 80 * MILLI;

/// Neighbouring bends of one movement are no further apart than this. Our default.
const ONE_MOVEMENT: i32 = 150 * MILLI;

/// The widest vibrato, in semitones. Our default.
const WIDEST: u8 = 2;

impl Around<'_> {
    pub(super) fn bend(self, by: usize, note: &PlayedNote) -> Class {
        let before = self.on_string_before(by);
        let after = self.on_string_after(by).filter(|(_, after)| after.is_bent());
        // Out, and back again soon.
        let out_and_back = |out: &PlayedNote, from: Option<&PlayedNote>, back: &PlayedNote| {
            from.is_some_and(|from| {
                from.pitch == back.pitch
                    && out.pitch.semitones_above(from.pitch).unsigned_abs() <= WIDEST
            })
        };
        if let (Some((_, from)), Some((after_by, back))) = (before, after)
            && out_and_back(note, Some(from), back)
        {
            let goes_on = self
                .on_string_after(after_by)
                .is_some_and(|(_, next)| next.is_bent() && next.pitch == note.pitch);
            if apart(note, back) <= RETURNS || goes_on || from.is_bent() {
                return Class::Vibrato;
            }
        }
        if let Some((before_by, out)) = before
            && out.is_bent()
            && out_and_back(out, self.on_string_before(before_by).map(|(_, from)| from), note)
        {
            return Class::Vibrato;
        }
        let direction =
            |from: &PlayedNote, to: &PlayedNote| to.pitch.semitones_above(from.pitch).signum();
        if let Some((before_by, from)) = before {
            let way = direction(from, note);
            let came = from.is_bent()
                && apart(from, note) <= ONE_MOVEMENT
                && self
                    .on_string_before(before_by)
                    .is_some_and(|(_, earlier)| direction(earlier, from) == way);
            let goes_on = after.is_some_and(|(_, after)| {
                apart(note, after) <= ONE_MOVEMENT && direction(note, after) == way
            });
            if came || goes_on {
                return Class::Slide;
            }
        }
        Class::Bend
    }
}
