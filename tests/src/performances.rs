//! The bundled recordings: who plays what, with which faults.
//!
//! They are made by the simulated player of the core from a seed, so that a test can make
//! them again and see that the files are what they are said to be.

pub use evenhand::smf::take::LEAD_IN;
use evenhand::smf::{Timed, take, write};
use evenhand::study::{Prepared, parse};
use evenhand_core::player::{Fault, Performance, Skill, perform};
use evenhand_core::units::{Instant, Level, Offset, Tempo};

/// The bundled study.
pub const STUDY: &str = include_str!("../../fixtures/studies/lantern-quay.study");

/// A recording to be made.
#[derive(Clone, Debug)]
pub struct Take {
    /// The name of the file, without its ending.
    pub file: &'static str,
    /// What is in it, in a line.
    pub text: &'static str,
    /// The chunk that is played.
    pub chunk: &'static str,
    /// Beats a minute.
    pub beats: u32,
    /// What goes wrong.
    pub faults: Vec<Fault>,
    /// The seed of all chance in it.
    pub seed: u64,
}

/// All of them.
pub fn takes() -> Vec<Take> {
    let take =
        |file, text, chunk, beats, seed, faults| Take { file, text, chunk, beats, faults, seed };
    let millis = Offset::from_millis;
    vec![
        take("lanterns-two-clean", "clean", "Lanterns, two", 66, 11, vec![]),
        take(
            "lanterns-one-weak-slurs",
            "every slurred note 10 dB softer than this player's usual slurs",
            "Lanterns, one",
            66,
            12,
            vec![Fault::WeakSlurs(Level::from_hundredths(1_000))],
        ),
        take(
            "shifts-hesitation",
            "210 ms lost before the second shift",
            "Two shifts to the top",
            60,
            13,
            vec![Fault::Hesitation { note: 4, lost: millis(210) }],
        ),
        take(
            "last-steps-wrong-note",
            "the fourth note a half step too high",
            "Last steps in first position",
            60,
            14,
            vec![Fault::Wrong { note: 3, semitones: 1 }],
        ),
        take(
            "barre-missing-note",
            "one note of the arpeggio does not sound",
            "Across the barre",
            66,
            15,
            vec![Fault::Missing(3)],
        ),
        take(
            "engine-spread-chord",
            "the second chord spread over 110 ms, above an even trill",
            "Harbour engine on A",
            60,
            16,
            vec![Fault::Spread { note: 4, by: millis(110) }],
        ),
        take(
            "lanterns-three-rushing",
            "15 % faster at the end than at the beginning",
            "Lanterns, three",
            60,
            17,
            vec![Fault::Drift(-150)],
        ),
        take(
            "mooring-broken-off",
            "broken off after four notes",
            "At the mooring",
            66,
            18,
            (4..12).map(Fault::Missing).collect(),
        ),
        take("bells-one-clean", "clean", "Four bells, one", 72, 19, vec![]),
    ]
}

/// The chunks of the bundled study.
pub fn chunks() -> Vec<Prepared> {
    parse(STUDY).and_then(|study| study.prepare()).expect("the bundled study is right")
}

/// Plays a take.
pub fn play(take: &Take, chunks: &[Prepared]) -> Performance {
    let chunk = chunks
        .iter()
        .find(|chunk| chunk.name == take.chunk)
        .unwrap_or_else(|| panic!("the bundled study has no chunk “{}”", take.chunk));
    let tempo = Tempo::from_beats_per_minute(take.beats, chunk.metre.beat()).expect("a tempo");
    perform(&chunk.at_tempo(tempo), tempo, Skill::SKILLED, &take.faults, take.seed)
}

/// A take as a Standard MIDI File: a channel per string, string 1 on the first.
pub fn file(take: &Take, chunks: &[Prepared]) -> Vec<u8> {
    write::file(&messages(&play(take, chunks)), &format!("{}: {}", take.chunk, take.text))
}

/// A performance as a pickup would send it, a channel per string; channel 1 for notes of no
/// string.
pub fn messages(performance: &Performance) -> Vec<Timed> {
    take::messages(performance, Instant::ZERO)
}
