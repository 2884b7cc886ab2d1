//! The numbers by which practice goes on, each with its source.
//!
//! No study ranks ways to practise the guitar. What is published are properties of rules of
//! this kind; the rest are our defaults.

use crate::tolerance::PracticeLevel;
use crate::units::Seconds;

/// Where a passage that was never clean begins, in per mille of the goal. Our default.
pub const START_PER_MILLE: u32 = 600;

/// How slow a passage may get, in per mille of the goal. Our default: slower than that, the
/// movements are no longer those of the passage.
pub const FLOOR_PER_MILLE: u32 = 300;

/// Where a join begins, in per mille of the slower part's fastest clean tempo. Our default.
pub const JOIN_PER_MILLE: u32 = 850;

/// How much faster a burst of tempo is, in per mille. Our default: two raises and a half.
pub const BURST_PER_MILLE: u32 = 1_100;

/// How slow a passage is played with accents, in per mille of its tempo. Common practice: half the tempo.
pub const ACCENTS_PER_MILLE: u32 = 500;

/// A passage of fewer notes has no accents to play. Our default: two beats of four.
pub const ACCENTS_NOTES: u16 = 8;

/// So many raises that did not hold, and the steps get smaller; as many again, and something
/// else than tempo is offered. Our default.
pub const FAILED_RAISES: u8 = 2;

/// So many of the last settled attempts are looked at. Our default.
pub const SHARE_OF: u8 = 5;

/// Fewer clean ones than this among them is too hard: under 60 %. The share of correct attempts
/// goes with what is kept the next day, the time spent does not (Duke, Simmons & Cash 2009); the
/// figure is our default.
pub const SHARE_CLEAN: u8 = 3;

/// Attempts of a variation until the passage comes back as it is written, clean or not. Our
/// default.
pub const VARIATION_ATTEMPTS: u8 = 6;

/// Unclear attempts in a row until something is said about it. Our default.
pub const UNCLEAR_SAID: u8 = 3;

/// An attempt slower than this is not one at the tempo that was asked for, in per mille of it.
/// Our default: a whole step down.
pub const AT_TEMPO_PER_MILLE: u32 = 930;

/// How much faster a piece is asked for that is clean at the first try, in per mille: as long as it has
/// not failed today, one clean attempt is enough to go on by so much. Our default.
pub const PLACING_PER_MILLE: u32 = 1_200;

/// Where a piece begins that was clean on an earlier day, in per mille of that tempo: what is clean cold is
/// what has been kept. Our default: a step and a half down.
pub const COLD_PER_MILLE: u32 = 920;

/// An attempt faster than this is one at its own tempo, in per mille of the tempo that was asked for. Our
/// default: nearly two steps up.
pub const FASTER_PER_MILLE: u32 = 1_070;

/// So many breakings-off in a row count as an attempt that was not clean. Our default.
pub const BROKEN_OFF_FAILS: u8 = 3;

/// The so many-eth time the same other pitch is said even where the attempt passed. Our default.
pub const MISREAD_SAID: u8 = 3;

/// So often at most the tempo stays because nothing but the same other pitch came again at its place. Our
/// default: then it is a hard place like others.
pub const MISREAD_AT_MOST: u8 = 5;

/// The events on either side of a hard place that are practised with it. Our default.
pub const SPOT_REACHES: u8 = 2;

/// The events of the first bit of a piece that is added up from its beginning; each time it is clean the next
/// [`SPOT_GROWS`] come to it. Common practice; the number is our default.
pub const FIRST_BIT: u8 = 3;

/// A piece of fewer events is not added up. Our default: three steps.
pub const ADDED_UP_EVENTS: u8 = 6;

/// How much faster than it failed a spot is worked up to, in per mille, so that it holds when the rest of
/// the piece comes before it. Our default: one leap.
pub const SPOT_FASTER_PER_MILLE: u32 = 1_200;

/// So many clean repetitions of a spot in a row are wanted. Common practice: a few notes take little time.
pub const SPOT_IN_A_ROW: u8 = 5;

/// By so many events on either side a spot grows when it is clean. Our default.
pub const SPOT_GROWS: u8 = 2;

/// So many attempts at a piece without a faster clean tempo, and something is changed after the next one
/// that is not clean: within ten, where three in a row are wanted. Our default.
pub const PLATEAU_AFTER: u8 = 7;

/// The same where the sitting has brought a faster clean tempo than the one before: it is getting better, and
/// a change could as well be for the worse. Our default: twice as many.
pub const PLATEAU_AFTER_BETTER: u8 = 14;

/// How long a piece that has been clean is stayed with before another has its turn: alternating
/// every three minutes was kept better than blocks (Carter & Grahn 2016; the effect is small in
/// the field, Czyż 2024).
pub const ROTATION: Seconds = Seconds::from_minutes(3);

/// Unfinished pieces in rotation until no further chunk is begun. Our default: each comes back
/// after about ten minutes.
pub const IN_ROTATION: usize = 4;

/// Unfinished joins in rotation until no further one is begun. Our default: joins begin slower
/// than their parts, and a sitting of new joins alone would bring nothing up to its tempo.
pub const JOINS_IN_ROTATION: usize = 2;

/// Playing time until a rest is due (Klickstein, *The Musician's Way*: five minutes in every
/// 25).
pub const REST_AFTER: Seconds = Seconds::from_minutes(25);

/// How long a rest is; a pause as long as this is one. Source: as [`REST_AFTER`].
pub const REST: Seconds = Seconds::from_minutes(5);

/// A rest that is not taken is due again after so much playing. Our default.
pub const REST_AGAIN: Seconds = Seconds::from_minutes(5);

/// When the tempo changes, and by how much.
///
/// With `n` clean attempts in a row for a step up and one that is not for a step down, the
/// tempo settles where a step up is as likely as a step down weighed by their sizes: the share
/// `p` of clean attempts fulfils `pⁿ · up = (1 − pⁿ) · down`. Equal steps give 71, 79 and 84 %
/// for two, three and four in a row (Levitt 1971); the steps of [`Rules::of`], which are larger
/// downwards (after García-Pérez 1998), 80, 82 and 86 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Rules {
    /// Clean attempts in a row for a step up; 0 counts as 1.
    pub in_a_row: u8,
    /// A step up, in per mille of the tempo.
    pub up_per_mille: u16,
    /// A step down, in per mille of the tempo.
    pub down_per_mille: u16,
    /// A step is at least so many beats a minute; 0 counts as 1.
    pub least_beats: u8,
}

impl Rules {
    /// The rules of a level. The numbers in a row are Levitt's (1971), the sizes our defaults
    /// with ratios after García-Pérez (1998).
    pub const fn of(level: PracticeLevel) -> Self {
        let (in_a_row, down_per_mille) = match level {
            PracticeLevel::First => (2, 70),
            PracticeLevel::Steady => (3, 50),
            PracticeLevel::Performance => (4, 50),
        };
        Self { in_a_row, up_per_mille: 40, down_per_mille, least_beats: 2 }
    }

    /// Clean attempts in a row for a step up, at least one.
    pub const fn in_a_row(&self) -> u8 {
        if self.in_a_row == 0 { 1 } else { self.in_a_row }
    }

    /// The more lenient of two: the one that asks for fewer in a row.
    pub(crate) const fn lenient(self, other: Self) -> Self {
        if other.in_a_row < self.in_a_row { other } else { self }
    }
}

impl Default for Rules {
    fn default() -> Self {
        Self::of(PracticeLevel::default())
    }
}
