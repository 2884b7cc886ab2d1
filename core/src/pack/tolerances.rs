//! Tolerances in a pack: each number as the chunk has it, so that a change of a level's
//! defaults changes no pack.

use super::codes;
use crate::tolerance::{TimeLimit, Tolerances};
use crate::units::{Level, Offset};
use serde::{Deserialize, Serialize};

/// As they are written. Times are microseconds, levels hundredths of a decibel.
#[derive(Clone, Copy, Serialize, Deserialize)]
pub(super) struct Written {
    level: u8,
    notes_a_slip: u16,
    unsteadiness: (i32, u16),
    single_note: (i32, u16),
    hesitation: (i32, u16),
    drift_per_mille: u16,
    chord_spread: i32,
    unevenness: i16,
    single_level: i16,
    slur_below: i16,
    click_offset: (i32, i32),
    trill_unevenness_per_mille: u16,
    trill_cover_per_mille: u16,
    held_per_mille: u16,
    staccato_per_mille: u16,
    gap_per_mille: u16,
    accent_above: i16,
    other_strings_per_mille: u16,
}

impl Written {
    pub(super) fn of(t: &Tolerances) -> Self {
        let time = |limit: TimeLimit| (limit.at_least.as_micros(), limit.per_mille);
        Self {
            level: codes::level(t.level),
            notes_a_slip: t.notes_a_slip,
            unsteadiness: time(t.unsteadiness),
            single_note: time(t.single_note),
            hesitation: time(t.hesitation),
            drift_per_mille: t.drift_per_mille,
            chord_spread: t.chord_spread.as_micros(),
            unevenness: t.unevenness.hundredths(),
            single_level: t.single_level.hundredths(),
            slur_below: t.slur_below.hundredths(),
            click_offset: (t.click_offset.0.as_micros(), t.click_offset.1.as_micros()),
            trill_unevenness_per_mille: t.trill_unevenness_per_mille,
            trill_cover_per_mille: t.trill_cover_per_mille,
            held_per_mille: t.held_per_mille,
            staccato_per_mille: t.staccato_per_mille,
            gap_per_mille: t.gap_per_mille,
            accent_above: t.accent_above.hundredths(),
            other_strings_per_mille: t.other_strings_per_mille,
        }
    }

    /// `None` if one is out of its range: a limit is nothing or more, and the earliest comes
    /// before the latest.
    pub(super) fn tolerances(&self) -> Option<Tolerances> {
        let time = |micros: i32| (micros >= 0).then_some(Offset::from_micros(micros));
        let level =
            |hundredths: i16| (hundredths >= 0).then_some(Level::from_hundredths(hundredths));
        let limit = |(at_least, per_mille): (i32, u16)| {
            Some(TimeLimit { at_least: time(at_least)?, per_mille })
        };
        let (early, late) = self.click_offset;
        if early > late {
            return None;
        }
        Some(Tolerances {
            level: codes::level_of(self.level)?,
            notes_a_slip: self.notes_a_slip,
            unsteadiness: limit(self.unsteadiness)?,
            single_note: limit(self.single_note)?,
            hesitation: limit(self.hesitation)?,
            drift_per_mille: self.drift_per_mille,
            chord_spread: time(self.chord_spread)?,
            unevenness: level(self.unevenness)?,
            single_level: level(self.single_level)?,
            slur_below: level(self.slur_below)?,
            click_offset: (Offset::from_micros(early), Offset::from_micros(late)),
            trill_unevenness_per_mille: self.trill_unevenness_per_mille,
            trill_cover_per_mille: self.trill_cover_per_mille,
            held_per_mille: self.held_per_mille,
            staccato_per_mille: self.staccato_per_mille,
            gap_per_mille: self.gap_per_mille,
            accent_above: level(self.accent_above)?,
            other_strings_per_mille: self.other_strings_per_mille,
        })
    }
}
