//! What holds from a place on: metre, key, clef, transposition, how strings are tuned.

use super::model::{Frets, Remarks};
use super::time::Quarters;
use super::xml::{Element, child, children, decimal, named, number_of, text, text_of};
use std::collections::{BTreeMap, BTreeSet};

/// How far the letters lie above C, in semitones.
const LETTERS: [(&str, i16); 7] =
    [("C", 0), ("D", 2), ("E", 4), ("F", 5), ("G", 7), ("A", 9), ("B", 11)];

/// What holds at a place of a part.
#[derive(Clone, Debug)]
pub(super) struct Attributes {
    /// How many parts a quarter has in durations.
    pub(super) divisions: Quarters,
    /// Beats, and what they are; none where the music is in no metre.
    pub(super) metre: Option<(u16, u16)>,
    /// Sharps; flats are negative.
    pub(super) fifths: i8,
    /// Semitones from what is written to what sounds, by staff; 0 is every staff.
    pub(super) transposed: BTreeMap<u8, i16>,
    /// Staves with a clef for tablature.
    pub(super) tablature: BTreeSet<u8>,
    /// How strings are tuned, by staff.
    pub(super) frets: BTreeMap<u8, Frets>,
}

impl Default for Attributes {
    fn default() -> Self {
        Self {
            // Programs that leave it out mean quarters.
            divisions: Quarters::new(1, 1).unwrap_or(Quarters::ZERO),
            metre: None,
            fifths: 0,
            transposed: BTreeMap::new(),
            tablature: BTreeSet::new(),
            frets: BTreeMap::new(),
        }
    }
}

impl Attributes {
    /// Takes what an element says; false where it cannot be.
    pub(super) fn take(&mut self, element: Element<'_>, bar: usize, remarks: &mut Remarks) -> bool {
        for one in children(element) {
            match one.tag_name().name() {
                "divisions" => match decimal(text(one)).filter(|value| value.is_positive()) {
                    Some(divisions) => self.divisions = divisions,
                    None => return false,
                },
                "key" => {
                    self.fifths = number_of(one, "fifths").unwrap_or(0).clamp(-14, 14);
                    if child(one, "key-step").is_some() {
                        remarks.add("a key of its own kind (pitches are as they are written)", bar);
                    }
                }
                "time" => self.metre(one, bar, remarks),
                "clef" => {
                    let staff = staff(one);
                    if text_of(one, "sign") == Some("TAB") {
                        self.tablature.insert(staff);
                    } else {
                        self.tablature.remove(&staff);
                    }
                }
                "transpose" => self.transpose(one),
                "staff-details" => self.strings(one, bar, remarks),
                "measure-style" => style(one, bar, remarks),
                "staves" | "instruments" | "part-symbol" | "directive" | "footnote" | "level" => {}
                "for-part" => remarks.add("parts in other keys than the score", bar),
                other => remarks.add(format!("“{other}”"), bar),
            }
        }
        true
    }

    /// Semitones to add on a staff.
    pub(super) fn transposition(&self, staff: u8) -> i16 {
        let own = self.transposed.get(&staff).or_else(|| self.transposed.get(&0));
        own.copied().unwrap_or(0)
    }

    fn metre(&mut self, time: Element<'_>, bar: usize, remarks: &mut Remarks) {
        if child(time, "senza-misura").is_some() {
            self.metre = None;
            return;
        }
        let sum = |word: &str| -> Option<u16> {
            word.split('+').map(|part| part.trim().parse::<u16>().ok()).try_fold(0, |sum, n| {
                let n = n?;
                u16::checked_add(sum, n)
            })
        };
        let beats: Vec<Option<u16>> = named(time, "beats").map(|one| sum(text(one))).collect();
        let kinds: Vec<Option<u16>> = named(time, "beat-type").map(|one| sum(text(one))).collect();
        let all: Option<Vec<(u16, u16)>> =
            beats.into_iter().zip(kinds).map(|(beats, kind)| Some((beats?, kind?))).collect();
        let fits = |(beats, kind): &(u16, u16)| *beats > 0 && *kind > 0 && kind.is_power_of_two();
        match all.filter(|all| !all.is_empty() && all.iter().all(fits)) {
            Some(all) => {
                // 2/4 and 3/8 together are seven eighths.
                let kind = all.iter().map(|(_, kind)| *kind).max().unwrap_or(4);
                let beats = all.iter().try_fold(0_u16, |sum, (beats, own)| {
                    sum.checked_add(beats.checked_mul(kind / own)?)
                });
                match beats {
                    Some(beats) => self.metre = Some((beats, kind)),
                    None => remarks.add("a metre that cannot be counted", bar),
                }
            }
            None => remarks.add("a metre that is not understood", bar),
        }
    }

    fn transpose(&mut self, one: Element<'_>) {
        let semitones = number_of::<i16>(one, "chromatic").unwrap_or(0).clamp(-60, 60);
        let octaves = number_of::<i16>(one, "octave-change").unwrap_or(0).clamp(-5, 5);
        let staff = one.attribute("number").and_then(|n| n.parse().ok()).unwrap_or(0);
        self.transposed.insert(staff, semitones + 12 * octaves);
    }

    fn strings(&mut self, details: Element<'_>, bar: usize, remarks: &mut Remarks) {
        let frets = self.frets.entry(staff(details)).or_default();
        let mut lines: BTreeMap<u8, u8> = BTreeMap::new();
        for tuning in named(details, "staff-tuning") {
            let line = tuning.attribute("line").and_then(|line| line.parse().ok());
            let pitch = pitch(tuning, "tuning-step", "tuning-alter", "tuning-octave");
            match (line, pitch) {
                (Some(line), Some(pitch)) => {
                    lines.insert(line, pitch);
                }
                _ => remarks.add("a tuning that is not understood", bar),
            }
        }
        if !lines.is_empty() {
            // Line 1 is the lowest.
            frets.open = lines.into_values().collect();
        }
        if let Some(capo) = number_of(details, "capo") {
            frets.capo = capo;
        }
    }
}

/// The staff that an element is about.
fn staff(one: Element<'_>) -> u8 {
    one.attribute("number").and_then(|number| number.parse().ok()).unwrap_or(1)
}

/// What bars look like, and at times what is played in them.
fn style(one: Element<'_>, bar: usize, remarks: &mut Remarks) {
    for inside in children(one) {
        match inside.tag_name().name() {
            "multiple-rest" => {}
            "slash" => remarks.add("slashes, where the player is to find the notes", bar),
            "measure-repeat" | "beat-repeat" => {
                remarks
                    .add("a sign that repeats what stands before it, taken as it is filled", bar);
            }
            other => remarks.add(format!("“{other}”"), bar),
        }
    }
}

/// A pitch by its letter, semitones and octave, as MIDI 1.0 numbers it. What lies between two of the piano's keys counts
/// as the nearest.
pub(super) fn pitch(of: Element<'_>, step: &str, alter: &str, octave: &str) -> Option<u8> {
    let step = text_of(of, step)?;
    let (_, base) = LETTERS.iter().find(|(letter, _)| letter.eq_ignore_ascii_case(step))?;
    let octave: i16 = number_of(of, octave).filter(|octave| (-1..=9).contains(octave))?;
    let alter = match text_of(of, alter).map(decimal) {
        None => 0,
        Some(alter) => {
            let (over, under) = alter?.parts();
            i16::try_from((over * 2 + under).div_euclid(under * 2)).ok()?
        }
    };
    u8::try_from(base.checked_add(alter)?.checked_add((octave + 1) * 12)?)
        .ok()
        .filter(|pitch| *pitch < 128)
}

/// The pitch of the next letter above, in a key: the usual other note of a trill.
pub(super) fn letter_above(of: Element<'_>, fifths: i8, sign: Option<i16>) -> Option<i16> {
    let step = text_of(of, "step")?;
    let at = LETTERS.iter().position(|(letter, _)| letter.eq_ignore_ascii_case(step))?;
    let octave: i16 = number_of(of, "octave").filter(|octave| (-1..=9).contains(octave))?;
    let (letter, base) = LETTERS.get((at + 1) % LETTERS.len())?;
    let octave = if at + 1 == LETTERS.len() { octave + 1 } else { octave };
    let alter = sign.unwrap_or_else(|| in_key(letter, fifths));
    Some(base + alter + (octave + 1) * 12)
}

/// Whether a key raises or lowers a letter.
fn in_key(letter: &str, fifths: i8) -> i16 {
    const SHARPS: [&str; 7] = ["F", "C", "G", "D", "A", "E", "B"];
    let at = SHARPS.iter().position(|one| *one == letter).unwrap_or(0);
    let many = usize::from(fifths.unsigned_abs());
    if fifths > 0 && at < many {
        1
    } else if fifths < 0 && SHARPS.len() - 1 - at < many {
        -1
    } else {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_raises_and_lowers_its_letters() {
        for (letter, fifths, alter) in
            [("F", 1, 1), ("C", 1, 0), ("C", 2, 1), ("B", -1, -1), ("E", -1, 0), ("E", -2, -1)]
        {
            assert_eq!(in_key(letter, fifths), alter, "{letter} with {fifths}");
        }
    }
}
