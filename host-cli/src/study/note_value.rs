//! Written lengths: note values with dots, tuplets, and lengths as a musician says them.

use evenhand_core::units::Ticks;
use std::fmt;

/// The ticks of a whole note.
const WHOLE: u32 = 4 * Ticks::PER_QUARTER;

/// A written length: a part of a whole note, lengthened by up to two dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoteValue {
    part: u8,
    dots: u8,
}

impl NoteValue {
    /// A quarter note.
    pub(super) const QUARTER: Self = Self { part: 4, dots: 0 };

    /// All values with a dot at most, the longest first.
    pub(super) const ALL: [Self; 14] = {
        let mut all = [Self::QUARTER; 14];
        let mut index = 0;
        while index < 7 {
            let part = 1 << index;
            all[2 * index] = Self { part, dots: 1 };
            all[2 * index + 1] = Self { part, dots: 0 };
            index += 1;
        }
        all
    };

    /// The value 1/`part` with so many dots; `None` unless `part` is 1, 2, 4, 8, 16, 32 or
    /// 64 and there are at most two dots, at most one on a 64th: two would give half a tick.
    pub const fn new(part: u8, dots: u8) -> Option<Self> {
        if dots > 2 || !matches!(part, 1 | 2 | 4 | 8 | 16 | 32 | 64) || part == 64 && dots > 1 {
            return None;
        }
        Some(Self { part, dots })
    }

    /// Reads `1/8` or `1/8.`.
    pub(super) fn read(word: &str) -> Option<Self> {
        let after = word.strip_prefix("1/")?;
        let digits = after.trim_end_matches('.');
        if digits.len() > 2 || digits.starts_with('0') {
            return None;
        }
        let dots = u8::try_from(after.len() - digits.len()).ok()?;
        Self::new(digits.parse().ok()?, dots)
    }

    /// The length in ticks, exactly.
    pub const fn ticks(self) -> Ticks {
        let plain = WHOLE / self.part as u32;
        Ticks::new(match self.dots {
            0 => plain,
            1 => plain * 3 / 2,
            _ => plain * 7 / 4,
        })
    }
}

impl fmt::Display for NoteValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "1/{}{}", self.part, &".."[..usize::from(self.dots.min(2))])
    }
}

/// A tuplet's ratio: so many notes in the time of so many others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    notes: u8,
    in_time_of: u8,
}

impl Ratio {
    /// `notes` in the time of `in_time_of`. `None` unless they are 2 to 15 in the time of 1
    /// to 16, and differ. (Our bounds: they hold what guitar music uses.)
    pub const fn new(notes: u8, in_time_of: u8) -> Option<Self> {
        if notes < 2 || notes > 15 || in_time_of < 1 || in_time_of > 16 || notes == in_time_of {
            return None;
        }
        Some(Self { notes, in_time_of })
    }

    /// Reads `3in2`, in small or capital letters.
    pub(super) fn read(word: &str) -> Option<Self> {
        let (notes, time) = Self::sides(word)?;
        if notes.len() > 2 || time.len() > 2 || notes.starts_with('0') || time.starts_with('0') {
            return None;
        }
        Self::new(notes.parse().ok()?, time.parse().ok()?)
    }

    /// Whether a word has the shape of a ratio, with whatever numbers.
    pub(super) fn resembles(word: &str) -> bool {
        Self::sides(word).is_some()
    }

    fn sides(word: &str) -> Option<(&str, &str)> {
        let at = word.find(|c: char| !c.is_ascii_digit())?;
        let (notes, rest) = word.split_at(at);
        let time = rest.strip_prefix("in").or_else(|| rest.strip_prefix("IN"))?;
        let number = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
        (number(notes) && number(time)).then_some((notes, time))
    }

    /// How many equal parts the time is cut into.
    pub const fn notes(self) -> u8 {
        self.notes
    }

    /// The sounding length of a written one; `None` when it is no whole number of ticks.
    pub const fn scale(self, written: Ticks) -> Option<Ticks> {
        let Some(product) = written.get().checked_mul(self.in_time_of as u32) else {
            return None;
        };
        if !product.is_multiple_of(self.notes as u32) {
            return None;
        }
        Some(Ticks::new(product / self.notes as u32))
    }

    /// Whether written lengths that sum up to `total` fill a whole number of parts, counted
    /// in 64ths.
    pub(super) const fn is_filled_by(self, total: Ticks) -> bool {
        total.get() > 0 && total.get().is_multiple_of(self.notes as u32 * (WHOLE / 64))
    }
}

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}in{}", self.notes, self.in_time_of)
    }
}

/// A length as a fraction of a whole note, in lowest terms: `3/8`.
pub(crate) fn as_fraction(length: Ticks) -> String {
    let (mut a, mut b) = (length.get(), WHOLE);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let divisor = a.max(1);
    format!("{}/{}", length.get() / divisor, WHOLE / divisor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_read_and_shown() {
        for (word, ticks) in [("1/4", 10_080), ("1/4.", 15_120), ("1/4..", 17_640), ("1/64", 630)] {
            let value = NoteValue::read(word).unwrap();
            assert_eq!(value.ticks().get(), ticks, "{word}");
            assert_eq!(value.to_string(), word);
        }
        for word in ["1/9", "2/4", "1/", "1/8...", "1/08", "1/8.5", "1/128", "1/64..", "/8"] {
            assert!(NoteValue::read(word).is_none(), "{word}");
        }
    }

    #[test]
    fn a_tuplet_takes_its_share() {
        let triplet = Ratio::read("3in2").unwrap();
        assert_eq!(triplet.scale(Ticks::new(5_040)), Some(Ticks::new(3_360)));
        assert!(triplet.is_filled_by(Ticks::new(3 * 5_040)));
        assert!(!triplet.is_filled_by(Ticks::new(2 * 5_040)));
        assert_eq!(Ratio::read("11in8").unwrap().scale(Ticks::new(5_040)), None);
        for word in ["3in3", "1in2", "3in", "in2", "16in4", "3on2", "003in2"] {
            assert!(Ratio::read(word).is_none(), "{word}");
        }
    }

    #[test]
    fn lengths_are_said_as_fractions() {
        assert_eq!(as_fraction(Ticks::new(5_040)), "1/8");
        assert_eq!(as_fraction(Ticks::new(15_120)), "3/8");
        assert_eq!(as_fraction(Ticks::new(3_360)), "1/12");
        assert_eq!(as_fraction(Ticks::new(50_400)), "5/4");
    }
}
