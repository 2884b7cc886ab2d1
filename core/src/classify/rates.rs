//! How often a converter makes which mistake on which string: what was learnt, what the attempt itself
//! shows, and what is to be expected of any, weighed against each other.
//!
//! *Formula.* Three steps, each drawn towards the one before where little was heard (shrinkage with a
//! fixed weight, as in any handbook of empirical Bayes): all mistakes per note; the mistakes of one kind;
//! those of one kind on one string. A stream that shows no mistakes is believed more and more; one that
//! doubles and trails in its first attempt is not believed to lose nothing.

use crate::align::{Class, Material, Role, Sureness};
use crate::pickup::{Habits, ONE, TrackingError};
use crate::units::GuitarString;

/// Rates are in this many parts of a note.
const PARTS: u32 = 10_000;

/// Mistakes of all kinds to be expected of a converter of which nothing is known: one in a hundred
/// notes. Our default: the best setting of a free pitch tracker on strings that we made showed five, and
/// MIDI that is played without a converter shows none.
const ANY: u32 = 100;

/// So many notes weigh as much as what is to be expected: of all mistakes, of one kind, of one string.
/// Our defaults.
const WEIGHT_OF_ANY: u32 = 60;
const WEIGHT_OF_KIND: u32 = 40;
const WEIGHT_OF_STRING: u32 = 30;

/// No converter makes a mistake more rarely than this. Our default.
const LEAST: u32 = 3;

/// The share of each mistake in all, in per cent, in the order of [`TrackingError::ALL`]. Our default,
/// rounded from what a free pitch tracker did on strings that we made: it trails, doubles, and loses
/// strokes of a sounding note; all else is rarer.
const SHARES: [u32; TrackingError::ALL.len()] = [6, 25, 20, 12, 8, 4, 8, 17];

/// How a converter errs, as far as one attempt and what was learnt before tell.
pub(crate) struct Rates {
    habits: Habits,
    /// Mistakes of all kinds, in parts of a note.
    any: u32,
}

impl Rates {
    /// Of an attempt whose notes have their classes: what is certainly the pickup's counts.
    // Not inlined: the counts leave the stack as soon as they are read.
    #[inline(never)]
    pub(crate) fn of(material: Material<'_>) -> Self {
        let mut habits = material.pickup.habits;
        count(material, &mut habits);
        let (mut notes, mut errors) = (0, 0);
        for string in habits.all() {
            notes += u32::from(string.notes);
            errors += string.errors.iter().map(|&count| u32::from(count)).sum::<u32>();
        }
        let any = drawn(errors, notes, ANY, WEIGHT_OF_ANY);
        Self { habits, any }
    }

    /// How often a mistake is made on a string, in ten thousandths of a note: 3 at least.
    pub(crate) fn of_error(&self, error: TrackingError, string: Option<GuitarString>) -> u32 {
        let share = SHARES.get(error as usize).copied().unwrap_or(0);
        let (mut notes, mut errors) = (0, 0);
        for string in self.habits.all() {
            notes += u32::from(string.notes);
            errors += u32::from(string.errors(error));
        }
        let of_kind = drawn(errors, notes, self.any * share / 100, WEIGHT_OF_KIND);
        let here = self.habits.string(string);
        drawn(here.errors(error).into(), here.notes.into(), of_kind, WEIGHT_OF_STRING).max(LEAST)
    }
}

/// The rate of `errors` in `notes` (both in sixteenths), drawn towards `expected` with the weight of so
/// many notes.
fn drawn(errors: u32, notes: u32, expected: u32, weight: u32) -> u32 {
    let one = u32::from(ONE);
    (errors.saturating_mul(PARTS) + expected * weight * one) / (notes + weight * one)
}

/// Counts the notes of an attempt, and what is certainly a mistake of the pickup's.
pub(crate) fn count(material: Material<'_>, habits: &mut Habits) {
    for wanted in material.chunk.notes() {
        habits.string_mut(wanted.string).count_note();
    }
    for (by, note) in material.played.iter().enumerate() {
        let classified = material.pairing.classified(by);
        let in_place = matches!(material.pairing.role(by), Role::Note(_));
        if classified.sureness == Sureness::Doubtful || in_place {
            continue;
        }
        if let Some(error) = error(classified.class) {
            habits.string_mut(note.string).count(error, ONE);
        }
    }
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
