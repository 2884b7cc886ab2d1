//! The notes around a note.

use crate::align::Material;
use crate::attempt::{Onset, PlayedNote, SAME_STROKE};
use crate::pickup::Latency;

/// Microseconds.
pub(super) const MILLI: i32 = 1_000;

/// By how much, in microseconds, a note may seem to have arrived before one that arrived earlier:
/// one that was set right has the time of its stroke, and its own latency.
const OUT_OF_TURN: i32 = SAME_STROKE.as_micros() + Latency::MOST.as_micros();

/// Notes that are looked at on each side: more than fit a chord, its noise and a vibrato on
/// several strings.
const MOST: usize = 128;

/// Whether two notes were on one string, where strings are known.
pub(super) fn same_place(a: &PlayedNote, b: &PlayedNote) -> Option<bool> {
    Some(a.string? == b.string?)
}

/// How long after `before` a note began, in microseconds.
pub(super) fn apart(before: &PlayedNote, note: &PlayedNote) -> i32 {
    note.at.as_micros().saturating_sub(before.at.as_micros())
}

/// An aligned attempt, looked at from one of its notes.
#[derive(Clone, Copy)]
pub(super) struct Around<'a> {
    pub(super) material: Material<'a>,
    /// Whether the pickup sends different velocities.
    pub(super) velocities_tell: bool,
}

impl<'a> Around<'a> {
    /// The notes that arrived before `by` (after it, if `reach` is positive), at most `reach`
    /// microseconds away, the nearest first. Noise arrives with what makes it, whatever its pitch,
    /// so it is arrival that counts, and not the time that latency is taken off.
    pub(super) fn near(
        self,
        by: usize,
        reach: i32,
    ) -> impl Iterator<Item = (usize, &'a PlayedNote)> + use<'a> {
        let at = self.material.played.get(by).map_or(0, |note| self.arrived(note));
        let apart = move |other: &PlayedNote| at.saturating_sub(self.arrived(other));
        let most = reach.saturating_abs();
        self.all(by, reach < 0)
            .take_while(move |(_, other)| apart(other).saturating_abs() <= most + OUT_OF_TURN)
            .filter(move |(other_by, other)| {
                // A pitch that was set right has the time of its stroke, and arrived a little
                // later.
                let corrected = self.on_string_before(*other_by).is_some_and(|(_, before)| {
                    before.at == other.at && before.string == other.string
                });
                let slack = if corrected { SAME_STROKE.as_micros() } else { 0 };
                let apart = apart(other);
                let apart = if apart > 0 { (apart - slack).max(0) } else { apart };
                apart.saturating_abs() <= most
            })
    }

    /// When a note arrived.
    fn arrived(self, note: &PlayedNote) -> i32 {
        let latency = self.material.pickup.latency.of(note.pitch);
        note.at.as_micros().saturating_add(latency.as_micros())
    }

    /// The note before on the same string, or on a string unknown; a note begun again is no other.
    pub(super) fn on_string_before(self, by: usize) -> Option<(usize, &'a PlayedNote)> {
        self.on_string(by, true)
    }

    /// The note after on the same string, or on a string unknown.
    pub(super) fn on_string_after(self, by: usize) -> Option<(usize, &'a PlayedNote)> {
        self.on_string(by, false)
    }

    fn on_string(self, by: usize, back: bool) -> Option<(usize, &'a PlayedNote)> {
        let note = self.material.played.get(by)?;
        self.all(by, back).find(|(_, other)| {
            other.onset != Onset::Again && same_place(other, note) != Some(false)
        })
    }

    pub(super) fn all(
        self,
        by: usize,
        back: bool,
    ) -> impl Iterator<Item = (usize, &'a PlayedNote)> + use<'a> {
        (1..=MOST).map_while(move |step| {
            let other = if back { by.checked_sub(step)? } else { by + step };
            Some((other, self.material.played.get(other)?))
        })
    }
}
