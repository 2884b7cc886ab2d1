//! Errors of tracking that come as notes.

use super::neighbours::{Around, MILLI, apart, same_place};
use crate::align::Role;
use crate::attempt::{
    AFTER_THE_END, Onset, PlayedNote, SAME_STROKE, TRAILING_ABOVE, TRAILING_PERCENT,
    is_interruption,
};
use crate::notes::level_of;
use crate::units::{Pitch, Velocity};

/// How long a pitch an octave or a twelfth off may stand before the converter finds the right
/// one, or after it has lost it. Our default.
const FINDS: i32 = 60 * MILLI;

/// Noise of the attack comes within this time of the note that makes it, and is no longer. Our
/// defaults.
const NOISE: i32 = 50 * MILLI;

/// A trailing pitch is shorter than this. Our default.
const TRAILING: i32 = 100 * MILLI;

impl<'a> Around<'a> {
    pub(super) fn is_corrected(self, by: usize, note: &PlayedNote) -> bool {
        let reach = SAME_STROKE.as_micros();
        self.near(by, reach).chain(self.near(by, -reach)).any(|(other, right)| {
            same_place(right, note) == Some(true)
                && right.pitch != note.pitch
                && self.is_expected(other)
        })
    }

    /// Whether a note goes on here that its string left for a moment.
    pub(super) fn goes_on_after_a_moment(self, by: usize, note: &PlayedNote) -> bool {
        let before = self.on_string_before(by).map(|(_, before)| before);
        note.onset == Onset::Corrected
            && before.is_some_and(|moment| {
                moment.onset == Onset::Corrected
                    && is_interruption(note.pitch, moment.pitch, apart(moment, note))
            })
    }

    /// The pitch that goes on after it, if it is that moment.
    pub(super) fn is_a_moment_in(self, by: usize, note: &PlayedNote) -> Option<Pitch> {
        let (after_by, after) =
            self.on_string_after(by).filter(|_| note.onset == Onset::Corrected)?;
        self.goes_on_after_a_moment(after_by, after).then_some(after.pitch)
    }

    pub(super) fn is_octave_of_another(self, by: usize, note: &PlayedNote) -> bool {
        self.near(by, FINDS).chain(self.near(by, -FINDS)).any(|(other, right)| {
            same_place(right, note) == Some(true)
                && note.pitch.is_partial_of(right.pitch)
                && self.is_expected(other)
        })
    }

    pub(super) fn is_ghost(self, by: usize, note: &PlayedNote) -> bool {
        let others = || {
            self.near(by, -NOISE)
                .chain(self.near(by, NOISE))
                .filter(|(_, other)| same_place(other, note) != Some(true))
        };
        // Strings that arrive louder than they are played are compared without that.
        let Some(loudest) = others().map(|(_, other)| self.material.level(other)).max() else {
            return false;
        };
        let share =
            Velocity::new((u16::from(self.material.pickup.noise_percent) * 127 / 100) as u8);
        let weaker = share.map(level_of).zip(loudest).zip(self.material.level(note));
        let weaker = weaker.map(|((share, loudest), own)| own.above(loudest) < share);
        if self.tells(weaker) == Some(false) {
            return false;
        }
        is_shorter(note, NOISE)
            || others().any(|(by, other)| {
                self.pitches(by, other)
                    .any(|pitch| matches!(note.pitch.semitones_above(pitch), 12 | 19 | 24))
            })
    }

    /// The pitch of a note as it was heard, and as it is wanted: the true one, where the converter
    /// heard it an octave off.
    fn pitches(self, by: usize, note: &PlayedNote) -> impl Iterator<Item = Pitch> + use<> {
        let wanted = match self.material.pairing.role(by) {
            Role::Note(index) => self.material.chunk.notes().get(index).map(|wanted| wanted.pitch),
            Role::Trill(_) | Role::Extra => None,
        };
        [Some(note.pitch), wanted].into_iter().flatten()
    }

    pub(super) fn is_trailing(self, by: usize, note: &PlayedNote) -> bool {
        let Some((before, ended)) = self.on_string_before(by) else { return false };
        // Under a vibrato or a slur it was another note that was struck.
        let Some((struck_by, struck)) = self.struck_before(before, ended) else { return false };
        if same_place(ended, note) != Some(true) {
            return false;
        }
        let Some(lasted) = ended.lasted else { return false };
        let end = ended.at.as_micros().saturating_add(lasted.as_micros());
        let after = note.at.as_micros().saturating_sub(end);
        let weaker = note.is_weaker(struck, TRAILING_PERCENT);
        after.abs() <= AFTER_THE_END.as_micros()
            && self
                .pitches(before, ended)
                .chain(self.pitches(struck_by, struck))
                .any(|pitch| note.pitch.semitones_above(pitch) <= TRAILING_ABOVE)
            && self.tells(weaker) != Some(false)
            && is_shorter(note, TRAILING)
    }

    /// The note that was struck before a note was bent to; itself, if it was struck.
    fn struck_before(
        self,
        mut by: usize,
        mut note: &'a PlayedNote,
    ) -> Option<(usize, &'a PlayedNote)> {
        while note.is_bent() {
            (by, note) = self.on_string_before(by)?;
        }
        Some((by, note))
    }

    /// What a comparison of velocities says; nothing where all velocities are the same.
    pub(super) fn tells(self, weaker: Option<bool>) -> Option<bool> {
        if self.velocities_tell { weaker } else { None }
    }
}

fn is_shorter(note: &PlayedNote, than: i32) -> bool {
    note.lasted.is_some_and(|lasted| lasted.as_micros() < than)
}
