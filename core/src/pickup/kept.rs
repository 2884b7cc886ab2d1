//! What was learnt of a pickup as bytes, for a memory that keeps it.

use super::habits::{Habits, MOST};

/// Strings that are kept, and notes of no string that is known. Guitars with more are learnt anew.
const PLACES: usize = 7;

/// Numbers of one string: notes, eight mistakes, and three latenesses of three numbers.
const OF_A_STRING: usize = 1 + 8 + 9;

/// Numbers of all: the strings, and the lateness by periods of the pitch.
const NUMBERS: usize = PLACES * OF_A_STRING + 3;

impl Habits {
    /// How many bytes [`encode`](Habits::encode) writes.
    pub const BYTES: usize = 2 * NUMBERS;

    /// As bytes, little-endian numbers in the order of the fields. Half mistakes that wait for their other
    /// half are left out. Whoever keeps them keeps a checksum and a version with them.
    pub fn encode(&self, out: &mut [u8; Self::BYTES]) {
        let mut left = out.chunks_exact_mut(2);
        self.clone().each(|number| {
            if let Some(place) = left.next() {
                place.copy_from_slice(&number.to_le_bytes());
            }
        });
    }

    /// What [`encode`](Habits::encode) wrote. Any bytes make habits that do no harm; what they say is
    /// another question.
    pub fn decode(bytes: &[u8; Self::BYTES]) -> Self {
        let mut left = bytes.chunks_exact(2);
        let mut habits = Self::NONE;
        habits.each(|number| {
            if let Some([low, high]) = left.next() {
                *number = u16::from_le_bytes([*low, *high]);
            }
        });
        habits.bound();
        habits
    }

    /// No count is more than is ever counted.
    fn bound(&mut self) {
        let strings = (1..PLACES as u8).map(crate::units::GuitarString::new).chain([None]);
        for string in strings {
            let own = self.string_mut(string);
            own.notes = own.notes.min(MOST);
            own.errors.iter_mut().for_each(|count| *count = (*count).min(MOST));
        }
    }

    /// Each number that is kept.
    fn each(&mut self, mut f: impl FnMut(&mut u16)) {
        let strings = (1..PLACES as u8).map(crate::units::GuitarString::new).chain([None]);
        for string in strings {
            let own = self.string_mut(string);
            f(&mut own.notes);
            own.errors.iter_mut().for_each(&mut f);
            let late = &mut own.late;
            for one in [&mut late.known, &mut late.alone, &mut late.in_chords] {
                each_of(one, &mut f);
            }
        }
        each_of(&mut self.periods, &mut f);
    }
}

fn each_of(late: &mut super::Lateness, f: &mut impl FnMut(&mut u16)) {
    let mut by = late.by.cast_unsigned();
    f(&mut by);
    late.by = by.cast_signed();
    f(&mut late.scatter);
    f(&mut late.notes);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pickup::{Lateness, TrackingError};
    use crate::units::GuitarString;

    #[test]
    fn what_is_written_is_read() {
        let mut habits = Habits::NONE;
        for number in 1..=6 {
            let string = habits.string_mut(GuitarString::new(number));
            string.notes = 100 * u16::from(number);
            for error in TrackingError::ALL {
                string.set(error, u16::from(number) * 10 + error as u16);
            }
            string.late.known =
                Lateness { by: -i16::from(number), scatter: 7, notes: number.into() };
            string.late.alone = Lateness { by: -300, scatter: 8, notes: 9 };
            string.late.in_chords = Lateness { by: 300, scatter: 10, notes: 11 };
        }
        habits.string_mut(None).notes = 48;
        habits.periods = Lateness { by: 51, scatter: 9, notes: 30 };
        let mut bytes = [0; Habits::BYTES];
        habits.encode(&mut bytes);
        assert_eq!(Habits::decode(&bytes), habits);
        // Whatever the bytes are, they count no more than is ever counted.
        let wild = Habits::decode(&[0xff; Habits::BYTES]);
        assert!(
            wild.all()
                .all(|string| string.notes <= MOST && string.errors.iter().all(|n| *n <= MOST))
        );
        // No two numbers lie in one place.
        let mut other = bytes;
        for at in 0..bytes.len() {
            other[at] ^= 1;
            assert_ne!(Habits::decode(&other), habits, "byte {at}");
            other[at] ^= 1;
        }
    }
}
