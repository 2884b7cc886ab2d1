//! `evenhand pack`, and the format that `docs/pack-format.md` specifies.

use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::next_step::{Piece, Rules, Task, Way};
use evenhand_core::pack::{ChunkParts, Pack, PackWriter, Part};
use evenhand_core::study::{ExpectedNote, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, bundled, code, evenhand};

fn document(name: &str) -> String {
    std::fs::read_to_string(workspace().join("docs").join(name)).unwrap()
}

/// The bytes of the example in a document: hexadecimal, between the fences under its heading.
fn example(text: &str) -> Vec<u8> {
    let after = text.split("## Example").nth(1).expect("it has an example");
    let block = after.split("```").nth(1).expect("between fences");
    let words = block.split_whitespace();
    words.map(|word| u8::from_str_radix(word, 16).expect("hexadecimal")).collect()
}

/// The pack that the document describes in words.
fn described() -> Vec<u8> {
    let quarter = Ticks::new(Ticks::PER_QUARTER);
    let note = ExpectedNote {
        string: GuitarString::new(1),
        ..ExpectedNote::plain(Ticks::ZERO, quarter, Pitch::new(64).unwrap())
    };
    let mut bytes = vec![0; 256];
    let mut writer = PackWriter::new(&mut bytes, 0x0102_0304_0506_0708, "T", 1).unwrap();
    writer
        .chunk(&ChunkParts {
            name: "A",
            goal: Tempo::from_beats_per_minute(60, quarter).unwrap(),
            metre: Metre::FOUR_FOUR,
            rules: Rules::of(PracticeLevel::Steady),
            tolerances: Tolerances::of(PracticeLevel::Steady),
            splits: false,
            varies: false,
            joins_next: false,
            voices: &[0],
            fingerings: 0,
        })
        .unwrap();
    writer.fingering("", |_| false).unwrap();
    let part = Part { first_bar: 1, into_first_bar: Ticks::ZERO, length: quarter, notes: &[note] };
    writer.part(&part).unwrap();
    writer.finish().unwrap().bytes().to_vec()
}

#[test]
fn the_example_in_the_document_is_right() {
    let bytes = example(&document("pack-format.md"));
    assert_eq!(described(), bytes, "\n{}", hexadecimal(&described()));
    let pack = Pack::open(&bytes).unwrap();
    assert_eq!((pack.title(), pack.name(0)), ("T", Some("A")));
    let task = Task { piece: Piece::Chunk(0), way: Way::AsWritten, tempo: Tempo::SLOWEST };
    let mut notes = heapless::Vec::<_, EXPECTED_NOTES>::new();
    let chunk = pack.music(task, |_| 0, &mut notes).unwrap();
    assert_eq!(chunk.notes()[0].pitch.number(), 64);
}

fn hexadecimal(bytes: &[u8]) -> String {
    let lines = bytes
        .chunks(16)
        .map(|line| line.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" "));
    lines.collect::<Vec<_>>().join("\n")
}

/// The length and the checksum of the demo study's pack: a change of the format, or of how
/// pieces are built, shows here.
const GOLDEN: (usize, u32) = (0, 0);

#[test]
fn the_demo_study_makes_the_pack_that_it_made() {
    let folder = Folder::new();
    let file = folder.path("quay.pack");
    let study = bundled("studies/lantern-quay.study");
    let run = evenhand(&["pack", &study, "--out", &file]);
    let bytes = std::fs::read(&file).unwrap();
    let pack = Pack::open(&bytes).unwrap();
    assert_eq!((bytes.len(), pack.checksum()), GOLDEN);
    assert!(run.done().out.contains(&format!("{} bytes", bytes.len())), "{run:?}");
    let text = std::fs::read_to_string(&study).unwrap();
    assert_eq!(format!("{:016x}", pack.study()), evenhand::log::hash(&text));
    let said = document("pack-format.md").replace(['\n', ','], " ").replace("  ", "");
    assert!(document("pack-format.md").contains(&thousands(bytes.len())), "{said}");
}

/// `12,345`.
fn thousands(number: usize) -> String {
    format!("{},{:03}", number / 1_000, number % 1_000)
}

#[test]
fn a_pack_stands_beside_its_study_and_says_so() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(bundled("studies/small.study")).unwrap();
    let study = folder.write("mine.study", text);
    let run = evenhand(&["pack", &study, "--events"]);
    let made = run.done().events().into_iter().find(|event| event["kind"] == "pack").unwrap();
    let bytes = std::fs::read(folder.path("mine.pack")).unwrap();
    assert_eq!(made["bytes"], bytes.len());
    evenhand(&["pack", &study, "--out", &study]).refused(code::USAGE, &["study itself"]);
    evenhand(&["pack", &bundled("damaged/typos.study")]).refused(code::STUDY, &["problems"]);
    let nowhere = folder.path("no/such/folder.pack");
    evenhand(&["pack", &study, "--out", &nowhere]).refused(code::OUTPUT, &["cannot write"]);
}
