//! Deviations that either a hand or a converter may have made: which mistake of the converter's explains
//! each best, and how much speaks for the hand.
//!
//! Each mistake is looked at by what a free pitch tracker did on strings that we made, and by what hands
//! can do at all: one hand strikes no string twice within 60 ms (10 strokes a second are a record; Fujii
//! 2009), no finger sounds a note for less than 50 ms (12 notes a second are the fastest slurs; from
//! memory). The numbers are decibans (see [`weight`](super::weight)) and our defaults, rounded from there.

use super::lagging::lost_at_its_end;
use super::neighbours::{Around, MILLI, apart, same_place};
use super::rates::{Rates, counted};
use super::weight::{ENOUGH, HAND_ADDS, HAND_ERRS, decibans};
use crate::align::{Class, Classified, Origin, Role, Sureness};
use crate::attempt::PlayedNote;
use crate::pickup::TrackingError;
use crate::study::{Attack, ExpectedNote};
use crate::units::Pitch;

/// How much a note of ordinary loudness and length speaks for the hand, and one that does not look at
/// all like the mistake that it is compared with.
const LIKE_A_NOTE: i32 = 10;
const UNLIKE: i32 = 20;

/// The same of a note beside others that nothing explains.
const LIKE_A_STRAY: i32 = 14;

/// The same of a note of ordinary loudness and length in another's place.
const LIKE_ANOTHER: i32 = 6;

/// The same where no slip of a hand on that string goes so far, and how far one goes, in semitones: from one
/// end of a position to beyond its other (five frets and a stretch on either side). Our defaults.
const LIKE_NO_SLIP: i32 = -10;
const WITHIN_REACH: u8 = 7;

/// The same where the strings are not known: a slip of a fret or two on a neighbouring string, or of one string.
const WITHIN_ANY_REACH: u8 = 12;

/// A converter that takes notes for their octaves takes one in so many of them for another pitch.
/// Our default; a free pitch tracker on strings that we made did for one in three.
const MISTAKEN_OTHERWISE: u32 = 4;

/// How much a pitch between the last one of its string and a slurred one says. A hand seldom stops on the
/// way of a slur; a converter that follows the sound does. Our default.
const ON_THE_WAY: i32 = -8;

/// No converter repeats itself later than this. Our default.
const LATEST_DOUBLE: i32 = 1_000 * MILLI;

/// A string that the converter began again by mistake is begun again within this time as often as not, each
/// time a little weaker, while it fades; and how much that says. Our defaults.
const CHATTERS_ON: i32 = 200 * MILLI;
const CHATTERS: i32 = -16;

/// A note too many at the beginning of a run that lags, and one too few at its end: a hand makes two slips
/// (one in fifty that it makes the other as well), a converter lags on half of the times. Our default.
pub(super) const LAGS: i32 = -14;

/// How much less a wrong pitch speaks for the hand where strings are not known: which one errs, and what it sounded
/// before, is not heard. Our default.
const WITHOUT_STRINGS: i32 = 8;

/// Notes that are looked at before another, where strings are not known: more than sound at once.
const LOOK_BACK: usize = 16;

/// What explains a note, and how much speaks for the hand all the same.
#[derive(Clone, Copy)]
pub(super) struct Explanation {
    class: Class,
    /// How much speaks for the hand, in decibans.
    pub(super) weight: i32,
}

impl Explanation {
    /// There is no note to be explained.
    const NONE: Self = Self { class: Class::Stray, weight: 0 };

    /// The converter's mistake that explains it better than all so far, if this one does.
    fn or(self, class: Class, weight: i32) -> Self {
        if weight < self.weight { Self { class, weight } } else { self }
    }

    /// The class that is kept: the hand's, if enough speaks for it, or the converter's, doubtful unless
    /// enough speaks for that.
    pub(super) fn settled(self, hand: Class, sureness: Sureness) -> Classified {
        match self.weight {
            ENOUGH.. => Classified { class: hand, sureness },
            weight if weight > -ENOUGH => {
                Classified { class: self.class, sureness: Sureness::Doubtful }
            }
            _ => Classified { class: self.class, sureness: Sureness::Likely },
        }
    }
}

impl<'a> Around<'a> {
    /// What explains a note that no expected note accounts for and that looks like no certain mistake of
    /// the pickup's.
    pub(super) fn explained_extra(self, rates: &Rates, by: usize) -> Explanation {
        let Some(note) = self.material.played.get(by) else { return Explanation::NONE };
        let own = counted(self.material, by);
        let rate = |error| decibans(HAND_ADDS, rates.of_error(error, note.string, own));
        Explanation { class: Class::Ghost, weight: rate(TrackingError::Ghost) + LIKE_A_STRAY }
            .or(Class::DoubleTrigger, rate(TrackingError::Double) + self.as_double(by, note))
            .or(Class::Trailing, rate(TrackingError::Trailing) + self.as_trailing(by, note))
            .or(Class::Ghost, rate(TrackingError::Ghost) + self.as_ghost(by, note))
            .or(Class::Blip, rate(TrackingError::Blip) + self.as_blip(by, note))
            .or(Class::OctaveError, rate(TrackingError::Octave) + self.as_partial(by, note))
            .or(Class::Stale, rate(TrackingError::Stale) + self.as_stale(by, note))
    }

    /// What explains a note that stands in place of the expected note `index` with another pitch.
    pub(super) fn explained_wrong(self, rates: &Rates, by: usize, index: usize) -> Explanation {
        let wanted = self.material.chunk.notes().get(index);
        let Some((note, wanted)) = self.material.played.get(by).zip(wanted) else {
            return Explanation::NONE;
        };
        let string = note.string.or(wanted.string);
        let own = counted(self.material, by);
        let of_error = |error| rates.of_error(error, string, own);
        let rate = |error| decibans(HAND_ERRS, of_error(error));
        let on_its_string = note.string.is_some() && note.string == wanted.string;
        let distance = note.pitch.semitones_above(wanted.pitch).unsigned_abs();
        // A hand slips by a fret or two. Where the string is known, further is rare; where it is not, a
        // fourth or a fifth is the neighbour's.
        let partial = match distance {
            12 | 19 | 24 if on_its_string => -17,
            // It may be another string.
            12 | 19 | 24 => -10,
            5 | 7 if on_its_string => 2,
            _ => UNLIKE,
        };
        let stale = if self.is_last_pitch(by, note, index, wanted) {
            as_last_pitch(wanted, note, rates.has_erred(own))
        } else {
            UNLIKE
        };
        // Who takes notes for their octaves takes them for others, too, now and then.
        let octave = of_error(TrackingError::Octave);
        let other = of_error(TrackingError::Blip).max(octave / MISTAKEN_OTHERWISE);
        // Of a pickup that has shown no mistake at all that alone is no reason to doubt.
        let reach = if on_its_string { Some(WITHIN_REACH) } else { None };
        let reach = if note.string.is_none() { Some(WITHIN_ANY_REACH) } else { reach };
        let far = reach.is_some_and(|reach| distance > reach) && rates.has_erred(own);
        let another = if far { LIKE_NO_SLIP } else { LIKE_ANOTHER };
        // And who takes the last pitch for a new one takes one on the way from it, too.
        let slid = (of_error(TrackingError::Stale) / MISTAKEN_OTHERWISE)
            .max(of_error(TrackingError::Blip));
        let slurred_over =
            wanted.attack == Attack::Slurred && self.is_between(by, note, index, wanted);
        let on_the_way = if slurred_over { ON_THE_WAY } else { UNLIKE };
        let explained =
            Explanation { class: Class::Blip, weight: decibans(HAND_ERRS, other) + another }
                .or(Class::OctaveError, decibans(HAND_ERRS, octave) + partial)
                .or(Class::Stale, rate(TrackingError::Stale) + stale)
                .or(Class::Blip, decibans(HAND_ERRS, slid) + on_the_way)
                .or(Class::Trailing, rate(TrackingError::Trailing) + self.as_trailing(by, note))
                .or(Class::Ghost, rate(TrackingError::Ghost) + self.as_ghost(by, note))
                .or(Class::Blip, rate(TrackingError::Blip) + shortness(note));
        // Of a converter that has made a mistake it is open then, and not excused, until it comes again; of one
        // that has made none that alone is no reason to doubt.
        let is_open = !rates.hears_strings() && explained.weight >= ENOUGH && rates.has_erred(own);
        let doubted = (explained.weight - WITHOUT_STRINGS).max(0);
        if is_open { Explanation { weight: doubted, ..explained } } else { explained }
    }

    /// A second trigger of the note before: soon, or while that sounds and weaker.
    fn as_double(self, by: usize, note: &PlayedNote) -> i32 {
        let same = |other: &PlayedNote| other.pitch == note.pitch;
        if self.goes_on_chattering(by, note) {
            return CHATTERS;
        }
        let before = match note.string {
            Some(_) => self.heard_before(by),
            None => self.before(by).find(|(_, other)| same(other)),
        };
        let Some((_, before)) = before.filter(|(_, other)| same(other)) else {
            return UNLIKE;
        };
        let since = apart(before, note);
        let soon = match since {
            LATEST_DOUBLE.. => return UNLIKE,
            since if since < 60 * MILLI => -20,
            since if since < 90 * MILLI => -10,
            _ => 0,
        };
        // A string that was damped before was struck again.
        let was_over =
            before.lasted.is_some_and(|l| l.as_micros() < since.saturating_sub(50 * MILLI));
        let damped = if was_over { 5 } else { 0 };
        let level = |percent| self.tells(note.is_weaker(before, percent)) == Some(true);
        let weaker = match () {
            () if level(70) => -6,
            () if level(88) => -4,
            () if self.tells(note.is_weaker(before, 95)).is_none() => 0,
            // A string that sounds on has faded by more.
            () if level(95) => 2,
            () => 4,
        };
        soon + damped + weaker
    }

    /// Whether it comes right after a mistake of the pickup's of the same pitch on its string, no stronger.
    fn goes_on_chattering(self, by: usize, note: &PlayedNote) -> bool {
        let is_noise = |by: usize| {
            matches!(
                self.material.pairing.class(by),
                Class::DoubleTrigger | Class::Trailing | Class::Ghost
            )
        };
        note.string.is_some()
            && self.on_string_before(by).is_some_and(|(before_by, before)| {
                before.pitch == note.pitch
                    && is_noise(before_by)
                    && apart(before, note) < CHATTERS_ON
                    && self.tells(before.is_weaker(note, 100)) == Some(false)
            })
    }

    /// What a finger left that was lifted: weak and short, when a note has just ended.
    fn as_trailing(self, by: usize, note: &PlayedNote) -> i32 {
        let ended = self.before(by).find(|(_, before)| {
            let end = before.lasted.map(|l| before.at.as_micros().saturating_add(l.as_micros()));
            let after = end.map(|end| note.at.as_micros().saturating_sub(end));
            same_place(before, note) != Some(false)
                && after.is_some_and(|after| (-30 * MILLI..=80 * MILLI).contains(&after))
        });
        let Some((_, ended)) = ended else { return UNLIKE };
        let weak = match () {
            () if self.tells(note.is_weaker(ended, 50)) == Some(true) => -12,
            () if self.tells(note.is_weaker(ended, 65)) == Some(true) => -4,
            // A lifted finger never leaves a note of ordinary loudness.
            () => return UNLIKE + LIKE_A_NOTE,
        };
        let high = if note.pitch.semitones_above(ended.pitch) > 2 { 6 } else { 0 };
        weak + high + if is_under(note, 150) { -6 } else { 2 }
    }

    /// Another string's stroke, heard here: at that moment, and weak.
    fn as_ghost(self, by: usize, note: &PlayedNote) -> i32 {
        let around = |reach: i32| {
            self.near(by, -reach * MILLI)
                .chain(self.near(by, reach * MILLI))
                .filter(|(_, other)| same_place(other, note) != Some(true))
        };
        let near = match () {
            () if around(50).next().is_some() => -6,
            () if around(120).next().is_some() => -3,
            () => return UNLIKE,
        };
        let weak = |percent: u8| {
            around(120).any(|(_, other)| self.tells(note.is_weaker(other, percent)) == Some(true))
        };
        let weak = match () {
            () if weak(35) => -10,
            () if weak(60) => -6,
            () => UNLIKE,
        };
        let of_a_tone = around(120)
            .any(|(_, other)| matches!(note.pitch.semitones_above(other.pitch), 0 | 12 | 19 | 24));
        near + weak + if of_a_tone { -6 } else { 0 } + if is_under(note, 60) { -6 } else { 0 }
    }

    /// A pitch that stood for a moment on a string that sounds another.
    fn as_blip(self, by: usize, note: &PlayedNote) -> i32 {
        let before = self.heard_before(by);
        let sounds = before.is_some_and(|(_, before)| {
            before
                .lasted
                .is_none_or(|l| l.as_micros() >= apart(before, note).saturating_sub(30 * MILLI))
        });
        let goes_on =
            self.on_string_after(by).is_some_and(|(_, after)| apart(note, after) < 120 * MILLI);
        if sounds || goes_on { shortness(note) } else { UNLIKE }
    }

    /// The octave or the twelfth of a tone that sounds on its string, or is about to.
    fn as_partial(self, by: usize, note: &PlayedNote) -> i32 {
        let is_its_partial = |other_by: usize, other: &PlayedNote, reach: i32| {
            let distance = note.pitch.semitones_above(other.pitch).unsigned_abs();
            self.is_expected(other_by)
                && apart(other, note).saturating_abs() < reach
                && matches!(distance, 12 | 19 | 24)
        };
        let before = self.heard_before(by);
        let before = before.is_some_and(|(by, tone)| is_its_partial(by, tone, LATEST_DOUBLE));
        let after = self.on_string_after(by).filter(|_| note.string.is_some());
        let after = after.is_some_and(|(by, tone)| is_its_partial(by, tone, 120 * MILLI));
        match (before || after, note.string.is_some()) {
            // A hand would have to jump as many frets.
            (true, true) => {
                if is_under(note, 100) {
                    -25
                } else {
                    -17
                }
            }
            (true, false) => {
                // Of the strings that sound, one is an octave away as often as not.
                if is_under(note, 100) { -12 } else { 2 }
            }
            (false, _) => UNLIKE,
        }
    }

    /// The string's last pitch once more, where another one is about to begin.
    fn as_stale(self, by: usize, note: &PlayedNote) -> i32 {
        if lost_at_its_end(self.material, by).is_some() {
            return LAGS;
        }
        let again = self.heard_before(by).is_some_and(|(_, before)| before.pitch == note.pitch);
        let next = self.on_string_after(by).is_some_and(|(_, after)| {
            after.pitch != note.pitch && apart(note, after) < 120 * MILLI
        });
        if again && next && note.string.is_some() { -8 } else { UNLIKE }
    }

    /// The mistake that a wrong note in an expected one's place looks like by its pitch alone: its string's
    /// last one, or one between that and the right one.
    pub(super) fn looks_mistracked(self, by: usize) -> Option<TrackingError> {
        let Role::Note(index) = self.material.pairing.role(by) else { return None };
        if self.material.pairing.class(by).origin() != Origin::Slip {
            return None;
        }
        let note = self.material.played.get(by)?;
        let wanted = self.material.chunk.notes().get(index)?;
        match () {
            () if self.is_last_pitch(by, note, index, wanted) => Some(TrackingError::Stale),
            () if self.is_between(by, note, index, wanted) => Some(TrackingError::Blip),
            () => None,
        }
    }

    /// Whether a note stands between the pitch that its string sounded last and the one that is wanted.
    fn is_between(self, by: usize, note: &PlayedNote, index: usize, wanted: &ExpectedNote) -> bool {
        let last = self.last_pitch(by, note, index, wanted);
        last.is_some_and(|last| {
            let (from, to) = (last.number(), wanted.pitch.number());
            (from.min(to) + 1..from.max(to)).contains(&note.pitch.number())
        })
    }

    /// Whether a note has the pitch that its string sounded last: as it was heard, or, where strings are
    /// not known, as it is written and was heard.
    fn is_last_pitch(
        self,
        by: usize,
        note: &PlayedNote,
        index: usize,
        wanted: &ExpectedNote,
    ) -> bool {
        self.last_pitch(by, note, index, wanted) == Some(note.pitch)
    }

    /// The pitch that the string of an expected note sounded before a note that stands in its place: as it
    /// was heard, or, where strings are not known, as it is written and was heard.
    fn last_pitch(
        self,
        by: usize,
        note: &PlayedNote,
        index: usize,
        wanted: &ExpectedNote,
    ) -> Option<Pitch> {
        if note.string.is_some() {
            let (_, before) = self.heard_before(by).filter(|_| note.string == wanted.string)?;
            return Some(before.pitch);
        }
        let string = wanted.string?;
        let earlier = self.material.chunk.notes().iter().enumerate().take(index).rev();
        let mut on_string = earlier.filter(|(_, note)| note.string == Some(string));
        let (before, written) = on_string.next()?;
        self.material.right(before).map(|_| written.pitch)
    }

    /// The notes before, where strings are not known a few.
    fn before(self, by: usize) -> impl Iterator<Item = (usize, &'a PlayedNote)> {
        self.all(by, true).take(LOOK_BACK)
    }

    /// The note before on the same string (where that is not known, any) that is no mistake of the
    /// pickup's.
    fn heard_before(self, by: usize) -> Option<(usize, &'a PlayedNote)> {
        let note = self.material.played.get(by)?;
        self.before(by).find(|(other_by, other)| {
            let class = self.material.pairing.class(*other_by);
            class.origin() != Origin::Pickup && same_place(other, note) != Some(false)
        })
    }
}

/// How much the string's last pitch in place of another says. A converter whose stroke was heard before its
/// new pitch sends nothing else. A hand that slips by a fret or two plays what a finger holds already most of
/// all; further off it does not slip to just this pitch. And where the note is slurred it cannot: a finger
/// that fails to sound it sounds nothing, and the old pitch would have to be struck.
fn as_last_pitch(wanted: &ExpectedNote, note: &PlayedNote, has_erred: bool) -> i32 {
    let distance = note.pitch.semitones_above(wanted.pitch).unsigned_abs();
    match (wanted.attack, distance) {
        (Attack::Slurred, _) => -10,
        // Of a converter that has made no mistake nothing but the hand is known to err.
        (_, ..=2) if has_erred => -3,
        (_, ..=2) => -1,
        _ => -8,
    }
}

/// How much the length of a note that is no ordinary one speaks for the hand.
fn shortness(note: &PlayedNote) -> i32 {
    match () {
        () if is_under(note, 50) => -14,
        () if is_under(note, 90) => -5,
        () => LIKE_A_NOTE,
    }
}

fn is_under(note: &PlayedNote, millis: i32) -> bool {
    note.lasted.is_some_and(|lasted| lasted.as_micros() < millis * MILLI)
}
