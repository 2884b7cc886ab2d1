//! How often a converter makes which mistake on which string: what was learnt, what the attempt itself
//! shows, and what is to be expected of any, weighed against each other.
//!
//! *Formula.* Three steps: mistakes of all kinds per note (gamma and Poisson); the share of one kind in
//! them (Dirichlet); how much oftener one string shows it than all (relative risk; Clayton & Kaldor 1987,
//! from memory). Each is drawn towards what is to be expected with a fixed weight, and no mistake and no
//! note counts in two of them: that nothing was heard to go wrong is said once, and not of each kind and
//! each string anew. A stream that shows no mistakes is believed more and more; one that doubles and trails
//! in its first attempt is not believed to lose nothing.

use crate::align::{Class, Material, Role, Sureness};
use crate::attempt::{Onset, PlayedNote};
use crate::pickup::{Habits, ONE, TrackingError};
use crate::units::GuitarString;

/// Rates are in this many parts of a note.
pub(super) const PARTS: u32 = 10_000;

/// Mistakes of all kinds to be expected of a converter of which nothing is known: one in a hundred
/// notes. Our default: the best setting of a free pitch tracker on strings that we made showed five, and
/// MIDI that is played without a converter shows none.
const ANY: u32 = 100;

/// So many notes weigh as much as what is to be expected of all mistakes; so many mistakes as the shares;
/// so many mistakes of a kind as that all strings show it alike. Our defaults.
const WEIGHT_OF_ANY: u32 = 60;
const WEIGHT_OF_SHARES: u32 = 4;
const WEIGHT_OF_STRING: u32 = 1;

/// No converter makes a mistake more rarely than this. Our default.
const LEAST: u32 = 3;

/// The share of each mistake in all, in per cent, in the order of [`TrackingError::ALL`]. Our default,
/// rounded from what a free pitch tracker did on strings that we made: it loses strokes of a sounding
/// note, doubles, trails, and sends a string's last pitch again; all else is rarer.
const SHARES: [u32; TrackingError::ALL.len()] = [6, 23, 18, 10, 15, 4, 8, 16];

/// How a converter errs, as far as one attempt and what was learnt before tell.
pub(crate) struct Rates {
    habits: Habits,
    /// Notes, and mistakes of all kinds, in sixteenths.
    notes: u32,
    errors: u32,
    /// The same of what was charged to the hand and only looks like one.
    looks: u32,
    hears_strings: bool,
}

/// What was charged to the hand and looks like a mistake by its pitch alone, in sixteenths of one: less than
/// what is open. Our default.
const LOOKS_LIKE_ONE: u16 = 6;

/// A note that is counted as a mistake of the pickup's, or as half of one.
#[derive(Clone, Copy)]
pub(crate) struct Counted {
    error: TrackingError,
    string: Option<GuitarString>,
    sixteenths: u16,
}

impl Rates {
    /// Of an attempt whose notes have their classes: what is certainly the pickup's counts, and half of
    /// what is open; so that of several suspects each speaks for the others.
    // Not inlined: the counts leave the stack as soon as they are read.
    #[inline(never)]
    pub(crate) fn of(material: Material<'_>) -> Self {
        let mut habits = material.pickup.habits;
        count_notes(material, &mut habits);
        let mut looks = 0;
        for by in 0..material.played.len() {
            if let Some(Counted { error, string, sixteenths }) = counted(material, by) {
                habits.string_mut(string).count(error, sixteenths);
                looks += if sixteenths == LOOKS_LIKE_ONE { u32::from(sixteenths) } else { 0 };
            }
        }
        let (mut notes, mut errors) = (0, 0);
        for string in habits.all() {
            notes += u32::from(string.notes);
            errors += string.errors.iter().map(|&count| u32::from(count)).sum::<u32>();
        }
        let hears_strings = material.played.iter().any(|note| note.string.is_some());
        Self { habits, notes, errors, looks, hears_strings }
    }

    /// Whether it says on which string a note came, at least of some of them: until that has been found out
    /// no note has a string.
    pub(crate) const fn hears_strings(&self) -> bool {
        self.hears_strings
    }

    /// Whether it has made a mistake, in the attempt or before, and not only what looks like one; `own` is what
    /// the note that is weighed counts for by itself.
    pub(crate) fn has_erred(&self, own: Option<Counted>) -> bool {
        let own = own.filter(|own| own.sixteenths != LOOKS_LIKE_ONE);
        self.errors.saturating_sub(self.looks) > own.map_or(0, |own| own.sixteenths.into())
    }

    /// How often a mistake is made on a string, in ten thousandths of a note: 3 at least. Without `own`,
    /// since no note speaks for itself.
    pub(crate) fn of_error(
        &self,
        error: TrackingError,
        string: Option<GuitarString>,
        own: Option<Counted>,
    ) -> u32 {
        let one = u32::from(ONE);
        let own_of = |is_it: &dyn Fn(&Counted) -> bool| {
            own.filter(is_it).map_or(0, |own| u32::from(own.sixteenths))
        };
        let errors = self.errors.saturating_sub(own_of(&|_| true));
        let any = drawn(errors, self.notes, ANY, WEIGHT_OF_ANY);
        let expected = SHARES.get(error as usize).copied().unwrap_or(0);
        let of_kind = self.habits.all().map(|string| u32::from(string.errors(error))).sum::<u32>();
        let of_kind = of_kind.saturating_sub(own_of(&|own| own.error == error));
        // Per ten thousand, so that nothing is lost of a small rate.
        let share = (of_kind
            .saturating_mul(PARTS)
            .saturating_add(expected * PARTS / 100 * WEIGHT_OF_SHARES * one))
            / (errors + WEIGHT_OF_SHARES * one);
        let of_kind = any.saturating_mul(share) / PARTS;
        let here = self.habits.string(string);
        let errors_here = u32::from(here.errors(error))
            .saturating_sub(own_of(&|own| own.error == error && own.string == string));
        let usual = u32::from(here.notes).saturating_mul(of_kind) / PARTS;
        let weight = WEIGHT_OF_STRING * one;
        let rate = of_kind.saturating_mul(errors_here + weight) / usual.saturating_add(weight);
        rate.max(LEAST)
    }
}

/// The rate of `errors` in `notes` (both in sixteenths), drawn towards `expected` with the weight of so
/// many notes.
fn drawn(errors: u32, notes: u32, expected: u32, weight: u32) -> u32 {
    let one = u32::from(ONE);
    errors.saturating_mul(PARTS).saturating_add(expected * weight * one) / (notes + weight * one)
}

/// Counts the notes of an attempt, and what is certainly a mistake of the pickup's.
pub(crate) fn count(material: Material<'_>, habits: &mut Habits) {
    count_notes(material, habits);
    let certain = (0..material.played.len()).filter_map(|by| counted(material, by));
    for Counted { error, string, sixteenths } in certain {
        if sixteenths == ONE {
            habits.string_mut(string).count(error, ONE);
        }
    }
}

fn count_notes(material: Material<'_>, habits: &mut Habits) {
    for wanted in material.chunk.notes() {
        habits.string_mut(wanted.string).count_note();
    }
}

/// What a played note counts for, as it is classified: a mistake, or half of one where it is open or stands
/// in an expected note's place.
pub(super) fn counted(material: Material<'_>, by: usize) -> Option<Counted> {
    let classified = material.pairing.classified(by);
    let (error, is_charged) = match error(classified.class) {
        Some(error) => (error, false),
        // What looks like it speaks for others of its kind, even if it was charged by itself.
        None => (super::around(material).looks_mistracked(by)?, true),
    };
    let in_place = matches!(material.pairing.role(by), Role::Note(_));
    let is_open = classified.sureness == Sureness::Doubtful || in_place;
    let PlayedNote { string, onset, .. } = *material.played.get(by)?;
    // A note that goes on after a moment of another pitch is one mistake with that.
    if error == TrackingError::Double && onset == Onset::Corrected {
        return None;
    }
    let sixteenths = match () {
        () if is_charged => LOOKS_LIKE_ONE,
        () if is_open => ONE / 2,
        () => ONE,
    };
    Some(Counted { error, string, sixteenths })
}

/// The mistake of the converter's that a class is, if it is one.
pub(crate) const fn error(class: Class) -> Option<TrackingError> {
    match class {
        Class::OctaveError => Some(TrackingError::Octave),
        Class::DoubleTrigger => Some(TrackingError::Double),
        Class::Correction | Class::Blip => Some(TrackingError::Blip),
        Class::Ghost => Some(TrackingError::Ghost),
        Class::Stale => Some(TrackingError::Stale),
        Class::Trailing => Some(TrackingError::Trailing),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever stands in a profile or in a memory: no sum overflows, and no rate is none at all.
    #[test]
    fn wild_habits_give_rates() {
        let mut habits = Habits::NONE;
        let strings = || (1..=GuitarString::MOST).map(GuitarString::new).chain([None]);
        for string in strings() {
            let own = habits.string_mut(string);
            own.notes = u16::MAX;
            own.errors = [u16::MAX; TrackingError::ALL.len()];
        }
        for notes in [u16::MAX, 0] {
            strings().for_each(|string| habits.string_mut(string).notes = notes);
            let errors = habits.all().flat_map(|own| own.errors).map(u32::from).sum();
            let rates =
                Rates { habits, notes: notes.into(), errors, looks: 0, hears_strings: true };
            for error in TrackingError::ALL {
                let string = GuitarString::new(6);
                let own = Counted { error, string, sixteenths: u16::MAX };
                for own in [None, Some(own)] {
                    assert!(rates.of_error(error, string, own) >= LEAST);
                }
            }
            habits = rates.habits;
        }
    }
}
