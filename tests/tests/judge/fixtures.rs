//! The bundled files are what they are said to be.

use evenhand::smf::Recording;
use evenhand::study::parse;
use evenhand_tests::performances::{chunks, file, takes};
use evenhand_tests::program::workspace;
use evenhand_tests::run::{bundled, code, evenhand};
use std::fs;
use std::path::PathBuf;

fn folder(name: &str) -> Vec<PathBuf> {
    let folder = workspace().join("fixtures").join(name);
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

#[test]
fn recordings_are_what_the_simulated_player_makes() {
    let chunks = chunks();
    for take in takes() {
        let path = workspace().join("fixtures/performances").join(take.file).with_extension("mid");
        let kept = fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        assert!(
            kept == file(&take, &chunks),
            "{} is not what is made now; look at the change, then `cargo xtask fixtures`",
            path.display()
        );
        let recording = Recording::read(&path).unwrap();
        let text = recording.text.unwrap_or_default();
        assert_eq!(text, format!("{}: {}", take.chunk, take.text), "{}", path.display());
    }
    assert_eq!(folder("performances").len(), takes().len(), "a file that nobody makes");
}

#[test]
fn studies_are_right() {
    for path in folder("studies") {
        let text = fs::read_to_string(&path).unwrap();
        let prepared = parse(&text).and_then(|study| study.prepare());
        assert!(prepared.is_ok(), "{}: {prepared:?}", path.display());
    }
}

#[test]
fn the_etude_has_sixteen_bars_and_can_be_judged() {
    let chunks = chunks();
    let last = chunks.last().unwrap();
    let end = last.chunk().place(last.length);
    // The place after the last note is the start of the bar after it.
    assert_eq!((end.bar, end.beat), (17, 1));
    assert!(chunks.iter().any(|chunk| chunk.notes.iter().any(|note| note.trill.is_some())));
}

/// Where each problem of the damaged studies stands: line and column, told from the texts by
/// hand.
const PROBLEMS: [(&str, &[(u32, u32)]); 6] = [
    ("not-text.study", &[(1, 1)]),
    ("other-music.study", &[(7, 25), (8, 15), (11, 40)]),
    (
        "typos.study",
        &[
            (2, 1),
            (3, 21),
            (4, 9),
            (5, 9),
            (6, 9),
            (7, 9),
            (9, 1),
            (10, 11),
            (10, 29),
            (10, 35),
            (10, 54),
            (11, 3),
        ],
    ),
    ("unclosed.study", &[(1, 16), (3, 7), (4, 18), (4, 27), (4, 41), (5, 3), (6, 3)]),
    (
        "unplayable.study",
        &[
            (5, 19),
            (5, 29),
            (5, 38),
            (8, 19),
            (8, 23),
            (8, 28),
            (8, 32),
            (10, 20),
            (12, 7),
            (13, 11),
            (13, 11),
            (13, 26),
            (13, 30),
            (14, 11),
        ],
    ),
    ("wrong-bars.study", &[(6, 31), (9, 31), (13, 3)]),
];

#[test]
fn damaged_studies_are_refused_with_all_their_problems() {
    let there = folder("damaged");
    assert_eq!(there.len(), PROBLEMS.len(), "{there:?}");
    for (name, places) in PROBLEMS {
        let path = bundled(&format!("damaged/{name}"));
        let run = evenhand(&["study", "check", &path]);
        run.refused(code::STUDY, &[&path]);
        let told: Vec<(u32, u32)> = run.err.split("line ").skip(1).filter_map(place).collect();
        assert_eq!(told, places, "{}", run.err);
        if name != "not-text.study" {
            let number = match places.len() {
                1 => "one problem".to_owned(),
                many => format!("{many} problems"),
            };
            assert!(run.err.contains(&format!("{path}: {number}\n")), "{}", run.err);
        }
        let score = bundled("performances/bells-one-clean.mid");
        assert_eq!(evenhand(&["judge", &path, &score]).err, run.err, "told the same everywhere");
    }
}

/// `7, column 25: found …` as numbers.
fn place(text: &str) -> Option<(u32, u32)> {
    let (line, rest) = text.split_once(", column ")?;
    let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    Some((line.parse().ok()?, rest[..digits].parse().ok()?))
}
