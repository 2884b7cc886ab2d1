//! Scores in MusicXML against music21 and partitura: the suite of short scores in music21's own folder (under MIT), and
//! its corpus of printed music, which lies outside this project.

use evenhand::export;
use evenhand::import::{self, Choice};
use evenhand::score::{self, Part, Quarters};
use evenhand_tests::outside;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Scores that the two libraries read differently, whose reading is ours, and why.
const DECIDED: [(&str, Reading, &str); 6] = [
    ("01d-Pitches-Microtones.xml", Reading::Own, "quarter tones count as the next key above"),
    (
        "01f-Pitches-EditorialMicrotoneAccidentals.xml",
        Reading::Own,
        "the same; partitura does not know their signs",
    ),
    (
        "02e-Rests-NoType.xml",
        Reading::Partitura,
        "a note of the second staff that names no staff is one note, not one on either",
    ),
    (
        "21f-Chord-ElementInBetween.xml",
        Reading::Partitura,
        "a direction between the notes of a chord does not part them",
    ),
    ("32ab-Notations3.xml", Reading::Music21, "partitura stops at a harmonic without a pitch"),
    (
        "33i-Ties-NotEnded.xml",
        Reading::Music21,
        "a tie to the same note at once is one, though its end is not written",
    ),
];

/// Whose reading of a score is ours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reading {
    Music21,
    Partitura,
    Own,
}

/// All scores in a folder and those below it.
fn scores(folder: &Path) -> Vec<PathBuf> {
    let (mut found, mut waiting) = (Vec::new(), vec![folder.to_owned()]);
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(&folder).expect("the folder can be read").flatten() {
            let path = entry.path();
            let kind = path.extension().map(|kind| kind.to_string_lossy().to_lowercase());
            if path.is_dir() {
                waiting.push(path);
            } else if kind.is_some_and(|kind| ["xml", "mxl", "musicxml"].contains(&kind.as_str())) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn exact(time: Quarters) -> String {
    match time.parts() {
        (whole, 1) => whole.to_string(),
        (over, under) => format!("{over}/{under}"),
    }
}

/// Sorted, as lines.
fn lines(all: impl IntoIterator<Item = Value>) -> Vec<String> {
    let mut lines: Vec<String> = all.into_iter().map(|line| line.to_string()).collect();
    lines.sort();
    lines
}

fn parts(path: &Path) -> Vec<Part> {
    let content = fs::read(path).expect("it can be read");
    score::read(&content).unwrap_or_else(|error| panic!("{}: {error}", path.display())).parts
}

fn ask(files: &[PathBuf], strings: bool) -> Vec<Value> {
    let answer = outside::ask("scores.py", &json!({"files": files, "strings": strings}));
    serde_json::from_value(answer["files"].clone()).expect("a list")
}

pub(crate) fn the_suite_is_read_as_two_libraries_read_it() {
    let files = scores(&outside::library("music21/musicxml/lilypondTestSuite"));
    assert_eq!(files.len(), 143);
    let mut agreed = 0;
    for (path, answer) in files.iter().zip(ask(&files, false)) {
        let of = |library: &str| -> Option<Vec<String>> {
            answer[library].as_array().map(|all| lines(all.iter().cloned()))
        };
        let (music21, partitura) = (of("music21"), of("partitura"));
        let parts = parts(path);
        let notes = parts.iter().flat_map(|part| &part.notes);
        let ours = Some(lines(notes.map(|note| json!([exact(note.onset), note.written]))));
        let decided = DECIDED.iter().find(|(known, ..)| *known == name(path));
        match decided {
            None => {
                assert_eq!(music21, partitura, "{}: nothing is decided of it", name(path));
                assert_eq!(ours, music21, "{}", name(path));
                agreed += 1;
            }
            Some((name, reading, why)) => {
                assert_ne!(music21, partitura, "{name} needs no decision");
                let wanted = match reading {
                    Reading::Music21 => music21,
                    Reading::Partitura => partitura,
                    // When it begins is no matter of pitches.
                    Reading::Own => {
                        let onset = |line: &String| line.split(',').next().map(str::to_owned);
                        let onsets = |of: &Option<Vec<String>>| -> Vec<_> {
                            of.iter().flatten().map(onset).collect()
                        };
                        assert_eq!(onsets(&ours), onsets(&music21), "{name}: {why}");
                        continue;
                    }
                };
                assert_eq!(ours, wanted, "{name}: {why}");
            }
        }
    }
    assert_eq!(agreed, 137);
    // 58.5 and 63.5 lie between two keys, and so on.
    let microtones = parts(&files[3]);
    let pitches: Vec<u8> = microtones[0].notes.iter().map(|note| note.written).collect();
    assert_eq!(pitches[..4], [59, 62, 65, 67], "{}", name(&files[3]));
}

pub(crate) fn strings_and_frets_are_those_of_music21() {
    let folder = outside::library("music21/musicxml");
    let files = [
        folder.join("testTab.xml"),
        folder.join("lilypondTestSuite/71e-TabStaves.xml"),
        folder.join("lilypondTestSuite/32ab-Notations3.xml"),
    ];
    let mut total = 0;
    for (path, answer) in files.iter().zip(ask(&files, true)) {
        let theirs = lines(answer["strings"].as_array().expect("a list").iter().cloned());
        let parts = parts(path);
        let fretted = parts
            .iter()
            .flat_map(|part| &part.notes)
            .filter_map(|note| Some(json!([exact(note.onset), note.string?, note.fret?])));
        let mut ours = lines(fretted);
        let mut theirs = theirs;
        if name(path) == "testTab.xml" {
            // It has note values and no durations, which music21 does not count.
            assert_eq!(ours[3], "[\"3\",2,3]");
            for line in ours.iter_mut().chain(&mut theirs) {
                *line = line.split_once(',').expect("an onset").1.to_owned();
            }
            ours.sort();
        }
        assert_eq!(ours, theirs, "{}", name(path));
        total += ours.len();
    }
    assert!(total >= 50, "{total}");
}

/// At least 95 of a hundred printed scores are read, and each becomes a study that is right; the others are refused with
/// a reason.
pub(crate) fn printed_scores_become_studies() {
    let all = scores(&outside::library("music21/corpus"));
    assert_eq!(all.len(), 654);
    let every = if std::env::var_os("EVENHAND_ALL_SEEDS").is_some() { 1 } else { 12 };
    let some: Vec<&PathBuf> = all.iter().step_by(every).collect();
    let (mut read, mut studies, mut refused) = (0, 0, BTreeSet::new());
    for path in &some {
        let content = fs::read(path).expect("it can be read");
        let score = match score::read(&content) {
            Ok(score) => score,
            Err(error) => {
                assert!(error.to_string().len() > 10 && !error.advice().is_empty());
                refused.insert(format!("{}: {error}", name(path)));
                continue;
            }
        };
        read += 1;
        let sounding = score.parts.iter().position(|part| !part.notes.is_empty());
        let part = sounding.map(|at| (at + 1).to_string());
        let choice = Choice { part, ..Choice::default() };
        match import::study(&score, &choice, &name(path)) {
            Ok(imported) => {
                studies += 1;
                assert!(!imported.chunks.is_empty(), "{}", name(path));
                assert!(imported.chunks.len() <= 200, "{}", name(path));
            }
            Err(problem) => {
                refused.insert(format!("{}: {problem}", name(path)));
            }
        }
    }
    assert!(read * 100 >= some.len() * 95, "{read} of {}: {refused:?}", some.len());
    assert!(studies * 100 >= some.len() * 95, "{studies} of {}: {refused:?}", some.len());
    // Drums alone have no pitch.
    assert!(refused.len() <= 1, "{refused:?}");
}

/// Studies of ours as MusicXML, read by music21, and as Standard MIDI Files, read by mido.
pub(crate) fn what_is_exported_is_read_with_the_same_notes() {
    let folder = evenhand_tests::run::Folder::new();
    let text = fs::read_to_string(evenhand_tests::run::bundled("studies/lantern-quay.study"));
    let study = evenhand::study::parse(&text.expect("it is text")).expect("it is right");
    let whole = export::whole(&study, None).expect("it is right");
    let printed = PathBuf::from(folder.write("quay.musicxml", export::musicxml(&whole)));
    let midi = PathBuf::from(folder.write("quay.mid", export::midi(&whole)));
    let per_quarter = i64::from(evenhand_core::units::Ticks::PER_QUARTER);
    let notes = |with_strings: bool| {
        let onset = |note: &evenhand_core::study::ExpectedNote| {
            exact(Quarters::new(i64::from(note.onset.get()), per_quarter).expect("a moment"))
        };
        whole.piece.notes.iter().flat_map(move |note| {
            let string = note.string.expect("each has one").number();
            let line = match with_strings {
                true => json!([onset(note), note.pitch.number(), string]),
                false => json!([onset(note), note.pitch.number()]),
            };
            // In print it stands twice, on the staff and in the tablature.
            vec![line; if with_strings { 1 } else { 2 }]
        })
    };
    let answers = ask(&[printed, midi], false);
    let theirs = lines(answers[0]["music21"].as_array().expect("a list").iter().cloned());
    assert_eq!(lines(notes(false)), theirs);
    let theirs = lines(answers[1]["mido"].as_array().expect("a list").iter().cloned());
    assert_eq!(lines(notes(true)), theirs);
    assert_eq!(theirs.len(), 159);
}

/// Standard MIDI Files as mido reads them: our own exactly, and those that come with music21 within half of a triplet of
/// eighths, which is as far as a note is moved.
pub(crate) fn standard_midi_files_are_read_as_mido_reads_them() {
    use evenhand::smf::sheet::{ChannelUse, Reading, sheet};
    let folder = evenhand_tests::run::Folder::new();
    let text = fs::read_to_string(evenhand_tests::run::bundled("studies/lantern-quay.study"));
    let study = evenhand::study::parse(&text.expect("it is text")).expect("it is right");
    let own = export::midi(&export::whole(&study, None).expect("it is right"));
    let mut files = vec![PathBuf::from(folder.write("quay.mid", own))];
    files.extend((1..=21).map(|number| {
        outside::library("music21/midi").join(format!("testPrimitive/test{number:02}.mid"))
    }));
    files.retain(|path| path.exists());
    let (mut read, mut total) = (0, 0);
    for (path, answer) in files.iter().zip(ask(&files, false)) {
        let content = fs::read(path).expect("it can be read");
        let reading = Reading { channels: ChannelUse::Voice, joined: true };
        let Ok(score) = sheet(&content, &name(path), reading) else {
            println!("{} is refused", name(path));
            continue;
        };
        let fraction = |text: &str| -> f64 {
            let (over, under) = text.split_once('/').unwrap_or((text, "1"));
            over.parse::<f64>().expect("a number") / under.parse::<f64>().expect("a number")
        };
        let mut theirs: Vec<(u64, f64)> = Vec::new();
        for note in answer["mido"].as_array().expect("a list") {
            // Percussion has no pitches.
            if note[2].as_u64() != Some(10) {
                let onset = fraction(note[0].as_str().expect("an onset"));
                theirs.push((note[1].as_u64().expect("a pitch"), onset));
            }
        }
        let mut ours: Vec<(u64, f64)> = Vec::new();
        for note in &score.parts[0].notes {
            ours.push((u64::from(note.written), fraction(&exact(note.onset))));
        }
        let order = |a: &(u64, f64), b: &(u64, f64)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1));
        ours.sort_by(order);
        theirs.sort_by(order);
        assert_eq!(ours.len(), theirs.len(), "{}", name(path));
        // Ours are rounded to a grid; a tick of the study more, where a file's are finer than those.
        let most = if read == 0 { 1e-9 } else { 1.0 / 6.0 + 1e-4 };
        for (our, their) in ours.iter().zip(&theirs) {
            assert_eq!(our.0, their.0, "{}", name(path));
            assert!((our.1 - their.1).abs() <= most, "{}: {our:?} {their:?}", name(path));
        }
        read += 1;
        total += ours.len();
    }
    println!("{read} of {} files, {total} notes", files.len());
    assert!(read >= 15 && total >= 159 + 500, "{read} {total}");
}
