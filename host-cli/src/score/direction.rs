//! What stands above or below a bar and holds from there: tempo, words, dynamics, where one goes.

use super::model::{Remarks, Signs};
use super::xml::{Element, child, children, named, text};
use crate::study::{Position, Shift};

/// What a direction says that is taken.
#[derive(Debug, Default)]
pub(super) struct Said {
    /// Hundredths of quarters a minute.
    pub(super) tempo: Option<u32>,
    pub(super) barre: Option<Position>,
    pub(super) shift: Option<Shift>,
}

/// Takes a direction.
pub(super) fn direction(
    direction: Element<'_>,
    bar: usize,
    signs: &mut Signs,
    remarks: &mut Remarks,
) -> Said {
    let mut said = Said::default();
    for one in named(direction, "direction-type").flat_map(children) {
        match one.tag_name().name() {
            "words" => words(text(one), bar, signs, &mut said, remarks),
            "metronome" => match metronome(one) {
                Some(tempo) => said.tempo = Some(tempo),
                None => remarks.add("a metronome mark that is no tempo", bar),
            },
            "segno" => signs.segno = true,
            "coda" => signs.coda = true,
            "dynamics" => remarks.add("dynamics", bar),
            "wedge" => remarks.add("swelling and fading", bar),
            "dashes" | "bracket" | "rehearsal" | "symbol" | "octave-shift" | "other-direction"
            | "staff-divide" | "footnote" | "level" => {}
            "pedal" | "damp" | "damp-all" | "harp-pedals" => remarks.add("pedals", bar),
            "eyeglasses" | "image" => {}
            "percussion" => remarks.add("percussion", bar),
            "string-mute" => remarks.add("muted strings", bar),
            "scordatura" => {
                remarks.add("another tuning (give it in the study, as “tuning”)", bar);
            }
            "accordion-registration" | "principal-voice" => {}
            other => remarks.add(format!("“{other}”"), bar),
        }
    }
    if let Some(sound) = child(direction, "sound") {
        self::sound(sound, signs, &mut said);
    }
    said
}

/// What a file says to players that are programs: it goes before what is printed.
pub(super) fn sound(sound: Element<'_>, signs: &mut Signs, said: &mut Said) {
    let is_set = |name: &str| sound.attribute(name).is_some();
    signs.da_capo |= sound.attribute("dacapo") == Some("yes");
    signs.dal_segno |= is_set("dalsegno");
    signs.segno |= is_set("segno");
    signs.coda |= is_set("coda");
    signs.to_coda |= is_set("tocoda");
    signs.fine |= is_set("fine");
    let tempo = sound.attribute("tempo").and_then(super::xml::decimal);
    if let Some(tempo) = tempo.and_then(hundredths) {
        said.tempo = Some(tempo);
    }
}

fn hundredths(tempo: super::time::Quarters) -> Option<u32> {
    let (over, under) = tempo.times(100, 1)?.parts();
    u32::try_from((over + under / 2) / under).ok().filter(|tempo| *tempo > 0)
}

/// A beat and how many of it go in a minute.
fn metronome(one: Element<'_>) -> Option<u32> {
    let mut unit: Option<(i64, i64)> = None;
    for child in children(one) {
        match child.tag_name().name() {
            "beat-unit" if unit.is_some() => return None,
            "beat-unit" => unit = Some(super::note::value(text(child))?),
            "beat-unit-dot" => unit = unit.map(|(over, under)| (over * 3, under * 2)),
            "per-minute" => {
                let word: String = text(child)
                    .chars()
                    .skip_while(|c| !c.is_ascii_digit())
                    .take_while(|c| c.is_ascii_digit() || *c == '.')
                    .collect();
                let (over, under) = unit?;
                let beats = super::xml::decimal(word.trim_end_matches('.'))?;
                return hundredths(beats.times(over, under)?);
            }
            _ => {}
        }
    }
    None
}

/// Words: a barre (CII), a position (VII), where one goes; all others are told.
fn words(word: &str, bar: usize, signs: &mut Signs, said: &mut Said, remarks: &mut Remarks) {
    let plain: String = word.split_whitespace().collect::<Vec<_>>().join(" ");
    let small = plain.to_lowercase();
    if small.is_empty() {
    } else if small.starts_with("d.c") || small.starts_with("da capo") {
        signs.da_capo = true;
    } else if small.starts_with("d.s") || small.starts_with("dal segno") {
        signs.dal_segno = true;
    } else if small.starts_with("to coda") || small.starts_with("al coda") {
        signs.to_coda = true;
    } else if small == "coda" {
        signs.coda = true;
    } else if small == "segno" {
        signs.segno = true;
    } else if small == "fine" {
        signs.fine = true;
    } else if small == "shift" {
        said.shift = Some(Shift { to: None });
    } else if let Some(position) = barre(&plain) {
        said.barre = Some(position);
    } else if let Some(position) = numeral(plain.trim_start_matches("pos. ")) {
        said.shift = Some(Shift { to: Some(position) });
    } else {
        let told: String = plain.chars().take(40).collect();
        remarks.add(format!("the words “{told}”"), bar);
    }
}

/// `CII`, `C 2`, `BIII`, `½CV`: how guitarists write a barre (common practice).
fn barre(word: &str) -> Option<Position> {
    let word = word.trim_start_matches(['½', '⅓', '⅔', '¼', '¾', 'Φ']);
    let word = word.strip_prefix("1/2").unwrap_or(word).trim_start();
    let rest = word.strip_prefix(['C', 'B', '¢'])?.trim_start_matches(['.', ' ']);
    let rest = rest.trim_end_matches(['.', '-', '_', '–', '—', ' ']);
    numeral(rest).or_else(|| rest.parse().ok().and_then(Position::new))
}

/// A Roman numeral in capitals.
fn numeral(word: &str) -> Option<Position> {
    (1..=Position::HIGHEST).filter_map(Position::new).find(|position| position.to_string() == word)
}

/// What a barline says.
pub(super) fn barline(barline: Element<'_>, signs: &mut Signs, bar: usize, remarks: &mut Remarks) {
    for one in children(barline) {
        match one.tag_name().name() {
            "repeat" => match one.attribute("direction") {
                Some("forward") => signs.forward = true,
                _ => {
                    let times = one.attribute("times").map(str::parse::<u32>);
                    signs.backward = Some(match times {
                        Some(Ok(times)) => times.max(1),
                        Some(Err(_)) => u32::MAX,
                        None => 2,
                    });
                }
            },
            "ending" => match one.attribute("type") {
                Some("start") => signs.ending = numbers(one.attribute("number").unwrap_or("1")),
                _ => signs.ending_stops = true,
            },
            "segno" => signs.segno = true,
            "coda" => signs.coda = true,
            "fermata" => {
                remarks.add("fermatas (time may be taken there; it is judged as written)", bar);
            }
            "bar-style" | "editorial" | "footnote" | "level" | "wavy-line" => {}
            other => remarks.add(format!("“{other}”"), bar),
        }
    }
}

/// `1, 2`, `1-3`; what is no number is left out.
fn numbers(list: &str) -> Vec<u32> {
    let mut numbers = Vec::new();
    for part in list.split([',', ' ', '.']).filter(|part| !part.is_empty()) {
        match part.split_once('-') {
            Some((from, to)) => {
                if let (Ok(from), Ok(to)) = (from.parse::<u32>(), to.parse::<u32>()) {
                    numbers.extend(from..=to.min(from.saturating_add(20)));
                }
            }
            None => numbers.extend(part.parse::<u32>()),
        }
    }
    if numbers.is_empty() { vec![1] } else { numbers }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_barre_is_read_as_guitarists_write_it() {
        for (word, fret) in
            [("CII", 2), ("C V", 5), ("½CIII", 3), ("BVII", 7), ("C2", 2), ("C.IX", 9)]
        {
            assert_eq!(barre(word).map(Position::fret), Some(fret), "{word}");
        }
        for word in ["C", "Coda", "Calm", "II", "CIIII", "C25"] {
            assert_eq!(barre(word), None, "{word}");
        }
        assert_eq!(numbers("1, 2"), [1, 2]);
        assert_eq!(numbers("1-3"), [1, 2, 3]);
        assert_eq!(numbers(""), [1]);
    }
}
