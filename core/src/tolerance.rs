//! How much is asked for: three levels, each number with its reason.
//!
//! No published study gives limits for guitar practice. What is published bounds them from
//! below: a displacement of 6 ms, or 2.5 % of the interval where notes are over 240 ms
//! apart, is just noticeable (Friberg & Sundberg 1995); professional pianists' scales have
//! a standard deviation of 8–9 ms at 125 ms between onsets (Jabusch 2006); consecutive
//! tones must differ by 0.7–1.2 dB to be told apart (Musicae Scientiae, 2022). Every number
//! that [`Tolerances::of`] gives stands above those floors and is otherwise our
//! default: no published value. A study can change each of them.

use crate::units::{Level, Offset};

/// How strictly an attempt is judged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "lowercase"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PracticeLevel {
    /// Getting the notes into the hands: a slip now and then is no failure.
    First,
    /// Every note there, steady and even.
    #[default]
    Steady,
    /// Ready to be heard by others.
    Performance,
}

impl PracticeLevel {
    /// How strict it is: more is stricter.
    const fn rank(self) -> u8 {
        match self {
            Self::First => 0,
            Self::Steady => 1,
            Self::Performance => 2,
        }
    }
}

/// A limit that grows with the interval between notes: the larger of a time and a share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TimeLimit {
    /// Never less than this.
    pub at_least: Offset,
    /// Per mille of the interval between onsets at the tempo played.
    pub per_mille: u16,
}

impl TimeLimit {
    /// The limit for notes `interval` apart.
    pub const fn at(self, interval: Offset) -> Offset {
        let share = (interval.as_micros() as i64 * self.per_mille as i64 / 1_000) as i32;
        if share > self.at_least.as_micros() { Offset::from_micros(share) } else { self.at_least }
    }
}

/// The limits an attempt is judged by. "At most" means that the limit itself still passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Tolerances {
    /// The level these started from.
    pub level: PracticeLevel,
    /// Wrong, missing, swapped and extra notes, at most one in this many; 0 allows none.
    pub notes_a_slip: u16,
    /// Standard deviation of the onsets around the player's own steady tempo, at most.
    pub unsteadiness: TimeLimit,
    /// One note's distance from where it belongs, at most. It must also stand out by three
    /// standard deviations of the attempt.
    pub single_note: TimeLimit,
    /// Time lost before a note, at most.
    pub hesitation: TimeLimit,
    /// Change of tempo from the first note to the last, in per mille, at most, either way.
    pub drift_per_mille: u16,
    /// From the first to the last note of a chord, at most. Rolled chords are exempt.
    pub chord_spread: Offset,
    /// Standard deviation of loudness within a group, at most.
    pub unevenness: Level,
    /// How far one note may be louder or softer than its group.
    pub single_level: Level,
    /// How far a slurred note may be below the plucked notes.
    pub slur_below: Level,
    /// Mean offset to a click: advice only, earliest and latest that need no mention.
    pub click_offset: (Offset, Offset),
    /// Spread of the intervals of a trill (standard deviation over mean), in per mille, at most.
    pub trill_unevenness_per_mille: u16,
    /// What a trill fills of its written length, in per mille, at least.
    pub trill_cover_per_mille: u16,
    /// What a held note sounds of its written length, in per mille, at least.
    pub held_per_mille: u16,
    /// What a staccato note sounds of its written length, in per mille, at most.
    pub staccato_per_mille: u16,
    /// Median gap between notes of a voice, in per mille of the interval, that needs no mention:
    /// advice only.
    pub gap_per_mille: u16,
    /// How far an accent stands above its neighbours, at least; nothing is asked for at 0.
    pub accent_above: Level,
    /// Right notes on another string than written, in per mille, that need no mention: advice
    /// only. 1,000 is never mentioned.
    pub other_strings_per_mille: u16,
}

impl Tolerances {
    /// The defaults of a level.
    pub const fn of(level: PracticeLevel) -> Self {
        match level {
            PracticeLevel::First => Self {
                level,
                notes_a_slip: 8,
                unsteadiness: limit(25, 80),
                single_note: limit(70, 240),
                hesitation: limit(120, 500),
                drift_per_mille: 100,
                chord_spread: Offset::from_millis(60),
                unevenness: Level::from_hundredths(400),
                single_level: Level::from_hundredths(800),
                slur_below: Level::from_hundredths(1_200),
                click_offset: (Offset::from_millis(-60), Offset::from_millis(40)),
                trill_unevenness_per_mille: 250,
                trill_cover_per_mille: 600,
                held_per_mille: 600,
                staccato_per_mille: 700,
                gap_per_mille: 300,
                accent_above: Level::from_hundredths(0),
                other_strings_per_mille: 100,
            },
            PracticeLevel::Steady => Self {
                level,
                notes_a_slip: 0,
                unsteadiness: limit(15, 50),
                single_note: limit(40, 160),
                hesitation: limit(70, 250),
                drift_per_mille: 60,
                chord_spread: Offset::from_millis(40),
                unevenness: Level::from_hundredths(250),
                single_level: Level::from_hundredths(500),
                slur_below: Level::from_hundredths(900),
                click_offset: (Offset::from_millis(-45), Offset::from_millis(25)),
                trill_unevenness_per_mille: 180,
                trill_cover_per_mille: 750,
                held_per_mille: 750,
                staccato_per_mille: 600,
                gap_per_mille: 200,
                accent_above: Level::from_hundredths(200),
                other_strings_per_mille: 100,
            },
            PracticeLevel::Performance => Self {
                level,
                notes_a_slip: 0,
                unsteadiness: limit(10, 35),
                single_note: limit(40, 100),
                hesitation: limit(40, 150),
                drift_per_mille: 40,
                // Real players' chords: 95 % within 30.8 ms (GuitarSet, five takes). At 25 ms a
                // skilled player of the tests was told of a chord in one attempt of twelve.
                chord_spread: Offset::from_millis(30),
                unevenness: Level::from_hundredths(150),
                single_level: Level::from_hundredths(350),
                slur_below: Level::from_hundredths(600),
                click_offset: (Offset::from_millis(-35), Offset::from_millis(15)),
                trill_unevenness_per_mille: 120,
                trill_cover_per_mille: 900,
                held_per_mille: 900,
                staccato_per_mille: 500,
                gap_per_mille: 120,
                accent_above: Level::from_hundredths(300),
                other_strings_per_mille: 1_000,
            },
        }
    }

    /// Of each tolerance the more lenient: what is joined must not fail where its parts pass.
    #[must_use]
    pub fn lenient(&self, other: &Self) -> Self {
        let time = |a: TimeLimit, b: TimeLimit| TimeLimit {
            at_least: a.at_least.max(b.at_least),
            per_mille: a.per_mille.max(b.per_mille),
        };
        let (a, b) = (self, other);
        // One slip in so many notes; 0 allows none.
        let slips = match (a.notes_a_slip, b.notes_a_slip) {
            (0, one) | (one, 0) => one,
            (a, b) => a.min(b),
        };
        Self {
            level: if a.level.rank() <= b.level.rank() { a.level } else { b.level },
            notes_a_slip: slips,
            unsteadiness: time(a.unsteadiness, b.unsteadiness),
            single_note: time(a.single_note, b.single_note),
            hesitation: time(a.hesitation, b.hesitation),
            drift_per_mille: a.drift_per_mille.max(b.drift_per_mille),
            chord_spread: a.chord_spread.max(b.chord_spread),
            unevenness: a.unevenness.max(b.unevenness),
            single_level: a.single_level.max(b.single_level),
            slur_below: a.slur_below.max(b.slur_below),
            click_offset: (
                a.click_offset.0.min(b.click_offset.0),
                a.click_offset.1.max(b.click_offset.1),
            ),
            trill_unevenness_per_mille: a
                .trill_unevenness_per_mille
                .max(b.trill_unevenness_per_mille),
            trill_cover_per_mille: a.trill_cover_per_mille.min(b.trill_cover_per_mille),
            held_per_mille: a.held_per_mille.min(b.held_per_mille),
            staccato_per_mille: a.staccato_per_mille.max(b.staccato_per_mille),
            gap_per_mille: a.gap_per_mille.max(b.gap_per_mille),
            accent_above: a.accent_above.min(b.accent_above),
            other_strings_per_mille: a.other_strings_per_mille.max(b.other_strings_per_mille),
        }
    }
}

impl Default for Tolerances {
    fn default() -> Self {
        Self::of(PracticeLevel::default())
    }
}

const fn limit(millis: i32, per_mille: u16) -> TimeLimit {
    TimeLimit { at_least: Offset::from_millis(millis), per_mille }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_the_larger_of_a_time_and_a_share() {
        let limit = Tolerances::of(PracticeLevel::Steady).unsteadiness;
        assert_eq!(limit.at(Offset::from_millis(100)), Offset::from_millis(15));
        assert_eq!(limit.at(Offset::from_millis(800)), Offset::from_millis(40));
    }
}
