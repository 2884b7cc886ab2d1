//! Studies for rehearsals, made from a seed: lines that wander by step and leap within a scale.

use crate::seeded::Seeded;
use evenhand::study::{Prepared, parse};

/// How a study is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Chunks of half a bar.
    HalfBars,
    /// Chunks of a bar.
    Bars,
    /// Chunks of two bars.
    TwoBars,
    /// Chunks of a bar of chords and single notes in two voices.
    Voices,
}

impl Cut {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::HalfBars, Self::Bars, Self::TwoBars, Self::Voices];
}

/// The white keys of the guitar's range, as names.
const SCALE: [&str; 19] = [
    "F2", "G2", "A2", "B2", "C3", "D3", "E3", "F3", "G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4",
    "A4", "B4", "C5",
];

/// A study of sixteen bars.
///
/// # Panics
/// If it is none.
pub fn study(cut: Cut, seed: u64) -> Vec<Prepared> {
    let mut seeded = Seeded::new(seed);
    let mut place = 11_i64;
    let mut note = |seeded: &mut Seeded| {
        let steps = [-4, -2, -1, -1, 1, 1, 2, 3];
        let step = steps[seeded.index(steps.len())];
        place += if (6..SCALE.len() as i64).contains(&(place + step)) { step } else { -step };
        place = place.clamp(6, SCALE.len() as i64 - 1);
        SCALE[place as usize]
    };
    let mut text = String::from("evenhand study 1\nmetre 4/4\ntempo 90\n");
    for bar in 1..=16 {
        let eighths: Vec<&str> = (0..8).map(|_| note(&mut seeded)).collect();
        match cut {
            Cut::HalfBars => {
                let (left, right) = (eighths[..4].join(" "), eighths[4..].join(" "));
                text.push_str(&format!("chunk \"{bar} a\" at bar {bar}\n  m: 1/8 {left}\n"));
                text.push_str(&format!(
                    "chunk \"{bar} b\" at bar {bar} beat 3\n  m: 1/8 {right} |\n"
                ));
            }
            Cut::Bars => {
                let all = eighths.join(" ");
                text.push_str(&format!("chunk \"Bar {bar}\" at bar {bar}\n  m: 1/8 {all} |\n"));
            }
            Cut::TwoBars => {
                let all = eighths.join(" ");
                if bar % 2 == 1 {
                    text.push_str(&format!("chunk \"From {bar}\" at bar {bar}\n  m: 1/8 {all} | "));
                } else {
                    text.push_str(&format!("{all} |\n"));
                }
            }
            Cut::Voices => {
                let all = eighths.join(" ");
                let low: Vec<&str> = (0..4).map(|_| SCALE[seeded.index(6)]).collect();
                let low = low.join(" ");
                text.push_str(&format!(
                    "chunk \"Bar {bar}\" at bar {bar}\n  high: 1/8 {all} |\n  low: 1/4 {low} |\n"
                ));
            }
        }
    }
    parse(&text).and_then(|study| study.prepare()).expect("a study")
}
