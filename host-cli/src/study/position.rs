//! Positions of the left hand, which guitarists number in Roman numerals.

use std::fmt;

/// A position or the fret of a barre: the fret at which the first finger stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Position(u8);

/// Up to 24, each written in one way.
const NUMERALS: [&str; Position::HIGHEST as usize] = [
    "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII", "XIII", "XIV", "XV",
    "XVI", "XVII", "XVIII", "XIX", "XX", "XXI", "XXII", "XXIII", "XXIV",
];

impl Position {
    /// The highest position: two octaves above the open string, where most necks end.
    pub const HIGHEST: u8 = 24;

    /// The position at this fret; `None` for 0 and above 24.
    pub const fn new(fret: u8) -> Option<Self> {
        if fret == 0 || fret > Self::HIGHEST { None } else { Some(Self(fret)) }
    }

    /// Reads `VII`, `vii` or `7`.
    pub(super) fn read(word: &str) -> Option<Self> {
        if let Some(at) = NUMERALS.iter().position(|n| n.eq_ignore_ascii_case(word)) {
            return Self::new(u8::try_from(at + 1).ok()?);
        }
        let plain = word.len() <= 2 && word.bytes().all(|b| b.is_ascii_digit());
        if plain { Self::new(word.parse().ok()?) } else { None }
    }

    /// The fret of the first finger.
    pub const fn fret(self) -> u8 {
        self.0
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(NUMERALS[usize::from(self.0) - 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numerals_read_back() {
        for fret in 1..=Position::HIGHEST {
            let position = Position::new(fret).unwrap();
            assert_eq!(Position::read(&position.to_string()), Some(position));
            assert_eq!(Position::read(&fret.to_string()), Some(position));
        }
        assert_eq!(Position::read("vii").map(Position::fret), Some(7));
        for word in ["IIII", "0", "25", "XXV", "", "V7", "+5"] {
            assert!(Position::read(word).is_none(), "{word}");
        }
    }
}
