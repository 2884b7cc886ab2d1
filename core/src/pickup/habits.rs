//! How a converter errs, learnt while listening: for each string, how many notes it has sent and
//! how often it made which mistake.

use super::lateness::{Late, Lateness};
use crate::units::GuitarString;

/// A mistake of a converter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum TrackingError {
    /// A note that was struck was not sent.
    Lost = 0,
    /// The same note struck again on its string was not sent: the first one went on.
    LostRepeat,
    /// A note was sent twice.
    Double,
    /// A note of a string that nobody struck: another string's, or noise of the attack.
    Ghost,
    /// A string's last pitch was sent once more in place of the new one.
    Stale,
    /// A short other pitch stood inside a sounding note, or before it.
    Blip,
    /// An octave or a twelfth was sent in place of the note.
    Octave,
    /// A weak note was sent when a finger had left the string.
    Trailing,
}

impl TrackingError {
    /// All of them, in the order of their numbers.
    pub const ALL: [Self; 8] = [
        Self::Lost,
        Self::LostRepeat,
        Self::Double,
        Self::Ghost,
        Self::Stale,
        Self::Blip,
        Self::Octave,
        Self::Trailing,
    ];
}

/// What is counted is counted in sixteenths, since it may be half certain who made a mistake.
pub const ONE: u16 = 16;

/// From so many notes of a string on, in sixteenths, older ones count half: a pickup changes with its
/// settings and its strings. Our default; 255 notes are some minutes of playing.
pub(super) const MOST: u16 = 255 * ONE;

/// One string's counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StringHabits {
    /// Notes that should have come, in sixteenths.
    pub notes: u16,
    /// Mistakes, in sixteenths, in the order of [`TrackingError::ALL`].
    pub errors: [u16; TrackingError::ALL.len()],
    /// How late its notes come.
    pub late: Late,
}

impl StringHabits {
    const NONE: Self = Self { notes: 0, errors: [0; TrackingError::ALL.len()], late: Late::NONE };

    /// How often a mistake was made, in sixteenths.
    pub fn errors(&self, error: TrackingError) -> u16 {
        self.errors.get(error as usize).copied().unwrap_or(0)
    }

    /// Says how often a mistake was made, in sixteenths, as it was kept.
    pub fn set(&mut self, error: TrackingError, sixteenths: u16) {
        if let Some(count) = self.errors.get_mut(error as usize) {
            *count = sixteenths.min(MOST);
        }
    }

    /// Counts a note that should have come.
    pub fn count_note(&mut self) {
        if self.notes >= MOST {
            self.notes /= 2;
            self.errors = self.errors.map(|count| count / 2);
        }
        self.notes += ONE;
    }

    /// Counts a mistake, or a part of one, in sixteenths.
    pub fn count(&mut self, error: TrackingError, sixteenths: u16) {
        if let Some(count) = self.errors.get_mut(error as usize) {
            *count = count.saturating_add(sixteenths).min(MOST);
        }
    }
}

/// Which mistakes on which string, each at most once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Mistakes {
    /// For each string, string 1 first, and for notes without a string: a bit for each mistake, in the
    /// order of [`TrackingError::ALL`].
    strings: [u8; GuitarString::MOST as usize + 1],
}

const _: () = assert!(TrackingError::ALL.len() <= 8);

impl Mistakes {
    /// None.
    pub const NONE: Self = Self { strings: [0; GuitarString::MOST as usize + 1] };

    /// Adds a mistake.
    pub fn insert(&mut self, string: Option<GuitarString>, error: TrackingError) {
        if let Some(mistakes) = self.strings.get_mut(place(string)) {
            *mistakes |= 1 << error as u8;
        }
    }

    /// Whether a mistake is among them.
    pub fn has(&self, string: Option<GuitarString>, error: TrackingError) -> bool {
        self.strings.get(place(string)).is_some_and(|mistakes| mistakes & (1 << error as u8) != 0)
    }
}

/// Where a string stands: string 1 first, notes without a string last.
fn place(string: Option<GuitarString>) -> usize {
    let index = string.map(|string| usize::from(string.number()).saturating_sub(1));
    index.unwrap_or(GuitarString::MOST.into())
}

/// What has been learnt of a converter. As it is made, nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Habits {
    /// Each string, string 1 first.
    strings: [StringHabits; GuitarString::MOST as usize],
    /// Notes whose string is not known.
    anywhere: StringHabits,
    /// Periods of the pitch that notes come late beyond one, in per cent, as chords say.
    pub(super) periods: Lateness,
    /// Half mistakes that a player spoke of, each waiting for its other half.
    halves: Mistakes,
}

impl Habits {
    /// Nothing has been heard yet.
    pub const NONE: Self = Self {
        strings: [StringHabits::NONE; GuitarString::MOST as usize],
        anywhere: StringHabits::NONE,
        periods: Lateness::NONE,
        halves: Mistakes::NONE,
    };

    /// The player says that these were the converter's: each counts as half a mistake, and halves count
    /// from the second on. So what is said once moves nothing by itself, no rate and no verdict, however
    /// near to a limit it is; and nothing that is said takes a mistake away.
    pub fn dispute(&mut self, said: &Mistakes) {
        let strings = (1..=GuitarString::MOST).map(GuitarString::new).chain([None]);
        for (string, error) in
            strings.flat_map(|string| TrackingError::ALL.map(|error| (string, error)))
        {
            if said.has(string, error) && self.halves.has(string, error) {
                self.string_mut(string).count(error, ONE);
            }
        }
        for (half, said) in self.halves.strings.iter_mut().zip(said.strings) {
            // Two halves are one, which has been counted.
            *half ^= said;
        }
    }

    /// What is known of a string, or of notes whose string is not known.
    pub fn string(&self, string: Option<GuitarString>) -> &StringHabits {
        let index = string.map(|string| usize::from(string.number()).saturating_sub(1));
        index.and_then(|index| self.strings.get(index)).unwrap_or(&self.anywhere)
    }

    /// The same, to count.
    pub fn string_mut(&mut self, string: Option<GuitarString>) -> &mut StringHabits {
        let index = string.map(|string| usize::from(string.number()).saturating_sub(1));
        index.and_then(|index| self.strings.get_mut(index)).unwrap_or(&mut self.anywhere)
    }

    /// The same where a profile says more: how often mistakes are made is as it was learnt, how late a
    /// string comes as the profile says, if it does.
    #[must_use]
    pub fn after(mut self, profile: &Self) -> Self {
        for (learnt, told) in self.strings.iter_mut().zip(&profile.strings) {
            if told.late.known.notes > 0 {
                learnt.late = told.late;
            }
        }
        self
    }

    /// All that is known, string 1 first and notes without a string last.
    pub fn all(&self) -> impl Iterator<Item = &StringHabits> {
        self.strings.iter().chain([&self.anywhere])
    }
}

/// A pedal keeps it in RAM and in its flash.
const _: () = assert!(size_of::<Habits>() <= 512);

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(habits: &Habits) -> u32 {
        habits.all().flat_map(|string| string.errors).map(u32::from).sum()
    }

    #[test]
    fn what_is_said_once_moves_nothing_and_what_is_said_twice_is_one_mistake() {
        let mut said = Mistakes::NONE;
        for string in (1..=GuitarString::MOST).map(GuitarString::new).chain([None]) {
            for error in TrackingError::ALL {
                assert!(!said.has(string, error));
                said.insert(string, error);
                said.insert(string, error);
                assert!(said.has(string, error));
            }
        }
        let mut habits = Habits::NONE;
        habits.string_mut(GuitarString::new(3)).count_note();
        let before = habits;
        habits.dispute(&said);
        assert!(habits.all().eq(before.all()), "no rate moves");
        habits.dispute(&said);
        let strings = u32::from(GuitarString::MOST) + 1;
        assert_eq!(counted(&habits), strings * 8 * u32::from(ONE));
        let after = habits;
        habits.dispute(&said);
        assert!(habits.all().eq(after.all()), "a third is half of the next one");
    }

    #[test]
    fn halves_of_different_mistakes_make_no_whole() {
        let one = |string, error| {
            let mut said = Mistakes::NONE;
            said.insert(GuitarString::new(string), error);
            said
        };
        let mut habits = Habits::NONE;
        habits.dispute(&one(1, TrackingError::Lost));
        habits.dispute(&one(2, TrackingError::Lost));
        habits.dispute(&one(1, TrackingError::Ghost));
        assert_eq!(counted(&habits), 0);
        habits.dispute(&one(1, TrackingError::Lost));
        let first = habits.string(GuitarString::new(1));
        assert_eq!((counted(&habits), first.errors(TrackingError::Lost)), (ONE.into(), ONE));
    }
}
