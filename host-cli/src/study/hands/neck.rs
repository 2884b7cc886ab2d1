//! The neck in millimetres, and how far a hand reaches on it.

use crate::study::model::LeftFinger;

/// The length of a string from nut to bridge where nobody says another, in millimetres: that of most classical
/// guitars (common practice).
pub const SCALE: u16 = 650;

/// How far two fingers are apart at most while both press, in millimetres, by how many there are between them: next
/// to each other, one between, the first and the fourth. Our defaults, for a hand of common size: five frets from
/// the first are 127 mm, six are 154.
const NEIGHBOURS: f64 = 75.0;
const ONE_BETWEEN: f64 = 110.0;
const OUTER: f64 = 140.0;

/// A neck with its strings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Neck {
    scale: f64,
    capo: u8,
}

impl Neck {
    pub(super) fn new(scale: u16, capo: u8) -> Self {
        Self { scale: f64::from(scale), capo }
    }

    /// How far a fret, counted from the capo, is from the nut: equal temperament, `1 − 2^(−n/12)` of the length.
    fn fret_at(self, fret: u8) -> f64 {
        let fret = f64::from(fret) + f64::from(self.capo);
        self.scale * (1.0 - (-fret / 12.0).exp2())
    }

    /// How far two frets are apart.
    pub(super) fn apart(self, one: u8, other: u8) -> f64 {
        (self.fret_at(one) - self.fret_at(other)).abs()
    }
}

/// How far these fingers are apart at most; of one finger and itself, or of one that is not known, nothing is said.
pub(super) fn reach(one: Option<LeftFinger>, other: Option<LeftFinger>) -> Option<f64> {
    let (Some(one), Some(other)) = (one.and_then(number), other.and_then(number)) else {
        // The first and the fourth, whichever they are.
        return Some(OUTER);
    };
    match one.abs_diff(other) {
        0 => None,
        1 => Some(NEIGHBOURS),
        2 => Some(ONE_BETWEEN),
        _ => Some(OUTER),
    }
}

/// The fingers along the neck, the first nearest the nut; the thumb is on the other side.
pub(super) fn number(finger: LeftFinger) -> Option<u8> {
    match finger {
        LeftFinger::First => Some(1),
        LeftFinger::Second => Some(2),
        LeftFinger::Third => Some(3),
        LeftFinger::Fourth => Some(4),
        LeftFinger::Thumb => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frets_are_where_equal_temperament_has_them() {
        let neck = Neck::new(650, 0);
        // Half the length is the octave; the fifth fret is at a quarter (3/4 of it sounds, but for 0.1 %).
        assert!((neck.fret_at(12) - 325.0).abs() < 1e-9);
        assert!((neck.fret_at(5) - 163.05).abs() < 0.2, "{}", neck.fret_at(5));
        assert!((neck.apart(1, 5) - 126.6).abs() < 0.2, "{}", neck.apart(1, 5));
        // A capo makes frets narrower.
        assert!(Neck::new(650, 5).apart(1, 5) < 0.76 * neck.apart(1, 5));
    }
}
