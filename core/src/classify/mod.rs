//! What each played note is: right, a slip, out of order, an error of the pickup, an ornament.
//!
//! A note that the chunk expects is never taken for an error of the pickup, only marked as
//! doubtful where it looks like one, and nothing is ever dropped: a played note gets a class,
//! and the verdict decides what it counts for.
//!
//! The times and shares are our defaults: no published values. That lifting a finger leaves
//! a false trailing pitch, that noise of the attack reads as high notes, and that a converter
//! takes a tone for its octave or twelfth is common practice among players and makers of
//! converters.

mod bends;
mod deviations;
mod lagging;
mod left_out;
mod neighbours;
mod order;
mod rates;
mod struck;
mod suspects;
mod weight;

use crate::align::{Class, Classified, Material, Origin, PairingMut, Role, Sureness};
use crate::attempt::{Onset, PlayedNote};
use crate::pickup::Pickup;
use crate::study::{Chunk, ExpectedNote};
pub(crate) use deviations::{Deviation, deviations, is_set_right, looks_mistracked};
pub(crate) use lagging::ends_a_lag;
pub(crate) use left_out::{goes_on, is_left_out, is_of_no_landing, may_be_the_pickups};
use neighbours::{Around, MILLI};
pub(crate) use rates::{Rates, count, error};
pub(crate) use weight::ENOUGH;

/// Whether a played note that stands in place of an expected one may be that note, mistaken by
/// the converter for its octave or twelfth: on its own string, exactly 12 semitones off or 19
/// above. A hand would have to jump as many frets.
pub fn is_octave_error(wanted: &ExpectedNote, note: &PlayedNote) -> bool {
    let same_string = wanted.string.is_some() && wanted.string == note.string;
    same_string && note.is_struck() && note.pitch.is_partial_of(wanted.pitch)
}

/// Decides once and for all what each note of an attempt is, and keeps it in `pairing`, where
/// every measure, the verdict and the reports read it.
///
/// Work grows with the number of played notes times those that arrive within a tenth of a second.
// Not inlined: what it takes of the stack is given back before anything is measured.
#[inline(never)]
pub(crate) fn classify(
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pickup: &Pickup,
    pairing: &mut PairingMut<'_>,
) {
    let velocities_tell = velocities_differ(played);
    for by in 0..played.len() {
        let material = Material { chunk, played, pairing: pairing.view(), pickup };
        let classified = Around { material, velocities_tell }.classified(by);
        pairing.classify(by, classified);
    }
    settle(chunk, played, pickup, pairing, velocities_tell);
    order::mark(chunk, played, pickup, pairing);
}

/// An attempt, to be looked at from one of its notes.
fn around(material: Material<'_>) -> Around<'_> {
    Around { material, velocities_tell: velocities_differ(material.played) }
}

/// How often suspects are looked at.
const LOOKS: usize = 2;

/// Settles by weight of evidence whose doing it is what is no certain mistake of the pickup's.
#[inline(never)]
fn settle(
    chunk: &Chunk<'_>,
    played: &[PlayedNote],
    pickup: &Pickup,
    pairing: &mut PairingMut<'_>,
    velocities_tell: bool,
) {
    // What is suspected in the first look speaks for what is suspected besides.
    for _ in 0..LOOKS {
        let material = Material { chunk, played, pairing: pairing.view(), pickup };
        let rates = Rates::of(material);
        for by in 0..played.len() {
            let material = Material { chunk, played, pairing: pairing.view(), pickup };
            let around = Around { material, velocities_tell };
            if let Some(settled) = around.settled(&rates, by) {
                pairing.classify(by, settled);
            }
        }
    }
}

/// Of a pickup that sends one velocity for all, weakness cannot be told.
fn velocities_differ(played: &[PlayedNote]) -> bool {
    let mut velocities = played.iter().filter_map(|note| note.velocity);
    let first = velocities.next();
    velocities.any(|velocity| Some(velocity) != first)
}

impl Around<'_> {
    /// What a note is by weight of evidence, if it is open to that.
    fn settled(self, rates: &Rates, by: usize) -> Option<Classified> {
        let Classified { class, sureness } = self.material.pairing.classified(by);
        match self.material.pairing.role(by) {
            Role::Note(index) if !class.is_right() => {
                let explained = self.explained_wrong(rates, by, index);
                Some(explained.settled(Class::WrongPitch, Sureness::Certain))
            }
            Role::Extra if class.origin() == Origin::Slip => {
                Some(self.explained_extra(rates, by).settled(class, sureness))
            }
            // It was settled as that before.
            Role::Extra if class.origin() == Origin::Pickup && sureness == Sureness::Doubtful => {
                let hand = self.extra_of_a_hand(by);
                Some(self.explained_extra(rates, by).settled(hand, Sureness::Likely))
            }
            _ => None,
        }
    }

    fn classified(self, by: usize) -> Classified {
        let Material { chunk, played, pairing, .. } = self.material;
        let Some(note) = played.get(by) else { return Classified::default() };
        let certain = |class| Classified { class, sureness: Sureness::Certain };
        match pairing.role(by) {
            Role::Note(index) => match chunk.notes().get(index) {
                Some(wanted) if wanted.pitch == note.pitch => {
                    let looks_like_noise =
                        matches!(self.extra(by, note), Class::Ghost | Class::DoubleTrigger);
                    let sureness =
                        if looks_like_noise { Sureness::Doubtful } else { Sureness::Certain };
                    Classified { class: Class::Right, sureness }
                }
                Some(wanted) if is_octave_error(wanted, note) => {
                    Classified { class: Class::OctaveError, sureness: Sureness::Likely }
                }
                _ => certain(Class::WrongPitch),
            },
            Role::Trill(_) => certain(Class::Trill),
            Role::Extra => {
                let class = self.extra(by, note);
                let is_heard_well = note.string.is_some() && self.velocities_tell;
                let sureness = if is_heard_well { Sureness::Certain } else { Sureness::Likely };
                Classified { class, sureness }
            }
        }
    }

    /// What a note is that no expected note accounts for.
    fn extra(self, by: usize, note: &PlayedNote) -> Class {
        if note.is_bent() {
            return self.bend(by, note);
        }
        let again = || self.near(by, -60 * MILLI).any(|(_, before)| note.is_begun_again(before));
        if note.onset == Onset::Again || again() {
            Class::DoubleTrigger
        } else if self.is_corrected(by, note) {
            Class::Correction
        } else if self.goes_on_after_a_moment(by, note) {
            Class::DoubleTrigger
        } else if let Some(sounding) = self.is_a_moment_in(by, note) {
            if note.pitch.is_partial_of(sounding) { Class::OctaveError } else { Class::Blip }
        } else if self.is_octave_of_another(by, note) {
            Class::OctaveError
        } else if self.is_ghost(by, note) {
            Class::Ghost
        } else if self.is_trailing(by, note) {
            Class::Trailing
        } else {
            self.extra_of_a_hand(by)
        }
    }

    /// What a note is beside the expected ones if a hand played it.
    fn extra_of_a_hand(self, by: usize) -> Class {
        let pitch = self.material.played.get(by).map(|note| note.pitch);
        if self.on_string_before(by).is_some_and(|(_, before)| Some(before.pitch) == pitch) {
            Class::Repeated
        } else {
            Class::Stray
        }
    }

    /// Whether a note stands in an expected note's place, or in a trill.
    fn is_expected(self, by: usize) -> bool {
        self.material.pairing.role(by) != Role::Extra
    }
}

#[cfg(test)]
mod tests;
