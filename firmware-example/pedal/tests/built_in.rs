//! The built-in study is what its notes make. EVENHAND_BLESS=1 writes it anew.

use evenhand_core::pack::{ChunkParts, PackWriter, Part};
use evenhand_core::practice::Rules;
use evenhand_core::study::{ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};
use evenhand_pedal::study::BUILT_IN;

const EIGHTH: u32 = Ticks::PER_QUARTER / 2;

/// String and pitch of the eighths of a chunk.
const FIGURES: [[(u8, u8); 8]; 2] = [
    [(5, 45), (3, 57), (2, 60), (1, 64), (1, 67), (2, 60), (3, 57), (4, 52)],
    [(6, 40), (3, 56), (2, 59), (1, 64), (1, 68), (2, 59), (3, 56), (4, 52)],
];

/// The notes of a chunk; the next one's first is its landing.
fn notes(chunk: usize) -> Vec<ExpectedNote> {
    let own = FIGURES[chunk].iter().map(|note| (note, Marks::NONE));
    let landing = FIGURES.get(chunk + 1).map(|next| (&next[0], Marks::LANDING));
    let note = |(index, (&(string, pitch), marks))| {
        let onset = Ticks::new(index as u32 * EIGHTH);
        let note = ExpectedNote::plain(onset, Ticks::new(EIGHTH), Pitch::new(pitch).unwrap());
        ExpectedNote { string: GuitarString::new(string), marks, ..note }
    };
    own.chain(landing).enumerate().map(note).collect()
}

fn write(bytes: &mut [u8]) -> usize {
    let mut pack = PackWriter::new(bytes, 0, "Built-in study", FIGURES.len() as u8).unwrap();
    for (chunk, name) in ["A minor", "E"].into_iter().enumerate() {
        let level = PracticeLevel::First;
        pack.chunk(&ChunkParts {
            name,
            goal: Tempo::from_beats_per_minute(90, Ticks::new(Ticks::PER_QUARTER)).unwrap(),
            metre: Metre::FOUR_FOUR,
            rules: Rules::of(level),
            tolerances: Tolerances::of(level),
            splits: false,
            varies: false,
            joins_next: chunk + 1 < FIGURES.len(),
            voices: &[],
            fingerings: 0,
        })
        .unwrap();
        pack.fingering("", |_| false).unwrap();
        pack.part(&Part {
            first_bar: chunk as u16 + 1,
            into_first_bar: Ticks::ZERO,
            length: Metre::FOUR_FOUR.bar(),
            notes: &notes(chunk),
        })
        .unwrap();
    }
    pack.finish().unwrap().bytes().len()
}

#[test]
fn the_built_in_study_is_what_its_notes_make() {
    let mut bytes = [0; 1_024];
    let length = write(&mut bytes);
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        let file = concat!(env!("CARGO_MANIFEST_DIR"), "/src/built-in.pack");
        std::fs::write(file, &bytes[..length]).unwrap();
        return;
    }
    assert_eq!(BUILT_IN, &bytes[..length]);
}
