//! Names of pitches: a letter, sharps or flats, and an octave.
//!
//! Scientific pitch notation as in ISO 16:1975 and common use: A4 is 440 Hz, which MIDI 1.0
//! numbers 69, so C4 is 60. Names are sounding pitches, not the octave higher that guitar
//! music is written in.

use evenhand_core::units::Pitch;
use std::fmt;

/// The seven letters with their distance from C in semitones.
const LETTERS: [(char, i16); 7] =
    [('C', 0), ('D', 2), ('E', 4), ('F', 5), ('G', 7), ('A', 9), ('B', 11)];

/// The twelve pitches from C upwards, spelt with sharps.
const WITH_SHARPS: [(char, i8); 12] = [
    ('C', 0),
    ('C', 1),
    ('D', 0),
    ('D', 1),
    ('E', 0),
    ('F', 0),
    ('F', 1),
    ('G', 0),
    ('G', 1),
    ('A', 0),
    ('A', 1),
    ('B', 0),
];

/// A pitch as it is spelt: D#4 and Eb4 sound alike and are two names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PitchName {
    letter: char,
    alter: i8,
    octave: i8,
    pitch: Pitch,
}

impl PitchName {
    /// A name from its capital letter, its sharps (positive) or flats (negative), and its
    /// octave. `None` for other letters, more than two sharps or flats, and pitches outside
    /// MIDI's range.
    pub fn new(letter: char, alter: i8, octave: i8) -> Option<Self> {
        let (_, semitones) = LETTERS.into_iter().find(|(l, _)| *l == letter)?;
        if !(-2..=2).contains(&alter) {
            return None;
        }
        let number = (i16::from(octave) + 1) * 12 + semitones + i16::from(alter);
        let pitch = Pitch::new(u8::try_from(number).ok()?)?;
        Some(Self { letter, alter, octave, pitch })
    }

    /// Reads `C#4`, `Bb3` or `A-1`; the letter may be small.
    pub(crate) fn read(word: &str) -> Option<Self> {
        let mut chars = word.chars();
        let letter = chars.next()?.to_ascii_uppercase();
        let after = chars.as_str();
        let octave = after.trim_start_matches(['#', '♯', 'b', '♭']);
        let signs = &after[..after.len() - octave.len()];
        let sharps = signs.chars().filter(|c| matches!(c, '#' | '♯')).count();
        let flats = signs.chars().count() - sharps;
        let alter = match (sharps, flats) {
            (n @ 0..=2, 0) => i8::try_from(n).ok()?,
            (0, n @ 1..=2) => -i8::try_from(n).ok()?,
            _ => return None,
        };
        let octave = match octave {
            "-1" | "−1" => -1,
            _ if octave.len() == 1 => octave.parse::<i8>().ok()?,
            _ => return None,
        };
        Self::new(letter, alter, octave)
    }

    /// The name of a pitch, spelt with a sharp where it needs one.
    pub fn of(pitch: Pitch) -> Self {
        let (letter, alter) = WITH_SHARPS[usize::from(pitch.number() % 12)];
        // 0 to 127 gives octaves -1 to 9.
        let octave = (pitch.number() / 12) as i8 - 1;
        Self { letter, alter, octave, pitch }
    }

    /// The sounding pitch.
    pub const fn pitch(self) -> Pitch {
        self.pitch
    }
}

impl fmt::Display for PitchName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.alter {
            -2 => "bb",
            -1 => "b",
            1 => "#",
            2 => "##",
            _ => "",
        };
        write!(f, "{}{sign}{}", self.letter, self.octave)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_agree_with_midi() {
        // MIDI 1.0 numbers A 440 Hz 69; the open strings follow from standard tuning.
        for (word, number) in [
            ("A4", 69),
            ("C4", 60),
            ("E2", 40),
            ("e4", 64),
            ("C#4", 61),
            ("Bb3", 58),
            ("bb3", 58),
            ("b3", 59),
            ("B♭3", 58),
            ("Cb4", 59),
            ("B#3", 60),
            ("F##2", 43),
            ("C-1", 0),
            ("G9", 127),
        ] {
            assert_eq!(PitchName::read(word).map(|n| n.pitch().number()), Some(number), "{word}");
        }
        for word in ["H4", "C", "4", "C#b4", "C###4", "G#9", "Cb-1", "C10", "C-2", "", "É4"] {
            assert!(PitchName::read(word).is_none(), "{word}");
        }
    }

    #[test]
    fn every_pitch_has_a_name_that_reads_back() {
        for number in 0..=127 {
            let pitch = Pitch::new(number).unwrap();
            let name = PitchName::of(pitch);
            assert_eq!(PitchName::read(&name.to_string()), Some(name));
            assert_eq!(name.pitch(), pitch);
        }
    }
}
