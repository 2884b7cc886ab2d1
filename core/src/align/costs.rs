//! What it costs to explain a played note one way or another.
//!
//! All in the same unit: [`WHOLE`] is a note that was left out. No clock decides what was
//! played; time only tells apart what pitch and string leave open, so every cost of time is
//! held below that of a note.
//!
//! The numbers are our defaults: no published values. They were chosen on a human piano
//! performance with its ground truth, real guitar takes with seeded faults, and synthetic
//! chords; the tests keep what they reach.

use super::events::Event;
use crate::attempt::{Onset, PlayedNote};
use crate::study::{Attack, ExpectedNote};
use crate::units::is_partial;

/// The cost of a note that was left out.
pub(super) const WHOLE: u16 = 64;

/// The prices, as a value, so that tests can leave time out and compare with a search that
/// tries everything.
#[derive(Clone, Copy, Debug)]
pub(super) struct Costs {
    /// An expected note was not played.
    pub(super) missing: u16,
    /// A played note was not expected.
    pub(super) extra: u16,
    /// A played note that belongs to no attempt: less than one that disturbs an attempt, and
    /// more than the mistakes of a bad one, note for note.
    pub(super) outside: u16,
    /// An attempt is over at its end: a little more than another note of a trill, so that a
    /// trill at the end is not taken for the beginning of the next attempt.
    pub(super) end: u16,
    /// An attempt breaks off before its end.
    pub(super) break_off: u16,
    /// An attempt in a stream begins on the way, at whatever event: no more than this, and no
    /// more than what is left out before.
    pub(super) begin_midway: u16,
    /// A note of a trill beyond its first: as many as the player likes.
    pub(super) trilled: u16,
    /// What no finger struck: a note that the converter began twice, the second pitch of one
    /// stroke, and a bend that was not expected, as in vibrato, in a slide or on the way to a
    /// slur. Nearly nothing, so that it disturbs nothing.
    pub(super) not_struck: u16,
    /// The right pitch on another string than the study says.
    pub(super) other_string: u16,
    /// A wrong pitch that a converter takes for the right one: an octave off or a twelfth above,
    /// on its string.
    pub(super) mistracked: u16,
    /// A wrong pitch in place of the right one, on its string.
    pub(super) wrong_same_string: u16,
    /// A wrong pitch up to three semitones away, string unknown or another.
    pub(super) wrong_near: u16,
    /// A wrong pitch further away, but within reach of it.
    pub(super) wrong_far: u16,
    /// Per octave of ratio between the time that passed and the time predicted.
    pub(super) octave_of_time: u16,
    /// The most that one event's time can cost.
    pub(super) time_at_most: u16,
    /// Milliseconds of spread within a chord that cost nothing. Real chords: 95 % within
    /// 31 ms, 99 % within 51 ms (measured on GuitarSet, five takes).
    pub(super) spread_free: u32,
    /// Milliseconds of spread beyond that for a cost of 1.
    pub(super) spread_for_one: u32,
    /// The most that the spread of one chord can cost.
    pub(super) spread_at_most: u16,
}

impl Costs {
    /// Nothing costs anything: while there is no chunk.
    pub(super) const NONE: Self = Self {
        missing: 0,
        extra: 0,
        outside: 0,
        end: 0,
        break_off: 0,
        begin_midway: 0,
        trilled: 0,
        not_struck: 0,
        other_string: 0,
        mistracked: 0,
        wrong_same_string: 0,
        wrong_near: 0,
        wrong_far: 0,
        octave_of_time: 0,
        time_at_most: 0,
        spread_free: 0,
        spread_for_one: 0,
        spread_at_most: 0,
    };

    pub(super) const DEFAULT: Self = Self {
        missing: WHOLE,
        extra: WHOLE,
        outside: 40,
        end: 4,
        break_off: 96,
        begin_midway: 128,
        trilled: 2,
        not_struck: 2,
        other_string: 16,
        mistracked: 12,
        wrong_same_string: 76,
        wrong_near: 84,
        wrong_far: 108,
        octave_of_time: 32,
        time_at_most: 48,
        spread_free: 50,
        spread_for_one: 6,
        spread_at_most: 56,
    };

    /// The cost of an event of which nothing was played.
    #[inline(always)]
    pub(super) const fn left_out(&self, event: &Event) -> u16 {
        if event.is_landing() { 0 } else { self.missing * event.size as u16 }
    }

    /// The cost of a played note that was not expected. What trails another may be a soft note, but more
    /// often is what its end leaves.
    pub(super) fn added(&self, note: &PlayedNote) -> u16 {
        match note.onset {
            _ if note.is_noise() => self.not_struck,
            Onset::Trailing => self.extra / 2,
            _ => self.extra,
        }
    }

    /// The cost of a played note that belongs to no attempt.
    pub(super) fn passed_over(&self, note: &PlayedNote) -> u16 {
        self.outside.min(self.added(note))
    }

    /// What stands in no note's place costs as much as leaving that one out and adding this.
    pub(super) const fn wrong_at_most(&self) -> u16 {
        2 * self.missing
    }

    /// The cost of a wrong note in place of another. Less than leaving one out and adding one;
    /// but what no finger struck stands in no note's place, and [`NOWHERE`] is the cost of what is
    /// out of reach.
    pub(super) fn wrong(
        &self,
        wanted: &ExpectedNote,
        note: &PlayedNote,
        same_string: Option<bool>,
    ) -> u16 {
        if !note.is_struck() || (note.is_nothing_elsewhere() && same_string != Some(true)) {
            return self.wrong_at_most();
        }
        let semitones = note.pitch.semitones_above(wanted.pitch);
        match same_string {
            Some(true) if is_partial(semitones) => self.mistracked,
            Some(true) => self.wrong_same_string,
            _ if is_near(semitones) => self.wrong_near,
            // It may be its string, and a converter takes one for the other.
            None if is_partial(semitones) => self.wrong_far,
            _ if is_out_of_reach(semitones) => NOWHERE,
            _ => self.wrong_far,
        }
    }
}

/// Whether a played note can be this expected note. A bend is a slurred note or none, a note
/// begun twice is one, and what trails a string's note is nothing on another string: else
/// vibrato, double triggers and lifted fingers would hide a note that was not plucked.
pub(super) fn is_right(wanted: &ExpectedNote, note: &PlayedNote) -> bool {
    // What rules out most is asked first.
    if wanted.pitch != note.pitch {
        return false;
    }
    match note.onset {
        Onset::Struck | Onset::Corrected => true,
        Onset::Trailing | Onset::Crosstalk => is_on_its_string(wanted, note),
        Onset::Bent => wanted.attack == Attack::Slurred,
        Onset::Again => false,
    }
}

/// Whether a note was played on the string it is wanted on, as far as strings are known.
fn is_on_its_string(wanted: &ExpectedNote, note: &PlayedNote) -> bool {
    wanted.string.is_none() || note.string.is_none() || wanted.string == note.string
}

/// Whether a wrong pitch is so near that a finger may have slipped: three semitones. Our default.
pub(super) const fn is_near(semitones: i8) -> bool {
    semitones.unsigned_abs() <= 3
}

/// The cost of a played note in place of one that it cannot have been meant for.
pub(super) const NOWHERE: u16 = u16::MAX;

/// Whether a wrong pitch is out of reach of a note that it did not come from the string of: more
/// than an octave away. Nobody meant it for that note, which is missing, and this is extra. Our
/// default: five frets and two strings are fifteen semitones, and who slips does so by one of both.
#[inline(always)]
pub(super) const fn is_out_of_reach(semitones: i8) -> bool {
    semitones.unsigned_abs() > 12
}
