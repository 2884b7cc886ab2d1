//! The studies in `fixtures/studies`: they can be prepared, and hands can play them.

use evenhand::study::{Fingering, LeftFinger, Prepared, Problem, Study, parse, print};
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::{GuitarString, Ticks};
use std::path::{Path, PathBuf};

/// How far apart the lowest and the highest fret under one hand may be. One finger a fret
/// spans three; one stretch more is common in the first position (our default).
const STRETCH: u8 = 4;

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/studies").join(name)
}

fn load(name: &str) -> (Study, Vec<Prepared>) {
    read(name, &std::fs::read_to_string(fixture(name)).unwrap())
}

fn read(name: &str, text: &str) -> (Study, Vec<Prepared>) {
    let show =
        |problems: Vec<Problem>| -> String { problems.iter().map(|p| format!("{p}\n")).collect() };
    let study = parse(text).unwrap_or_else(|p| panic!("{name}:\n{}", show(p)));
    let prepared = study.prepare().unwrap_or_else(|p| panic!("{name}:\n{}", show(p)));
    (study, prepared)
}

/// What sounds under the left hand when the note at `index` begins.
fn under_the_hand(chunk: &Prepared, index: usize) -> Vec<(&ExpectedNote, &Fingering)> {
    let now = chunk.notes[index].onset;
    let all = chunk.notes.iter().zip(&chunk.hand);
    all.filter(|(note, _)| note.onset <= now && note.onset.plus(note.duration) > now).collect()
}

fn assert_playable(chunk: &Prepared) {
    for index in 0..chunk.notes.len() {
        let sounding = under_the_hand(chunk, index);
        let mut frets = Vec::new();
        let mut fingers: Vec<(LeftFinger, u8)> = Vec::new();
        let mut strings = Vec::new();
        for (note, hand) in &sounding {
            let name = &chunk.name;
            let string = note.string.unwrap();
            assert!(!strings.contains(&string), "{name}: string {string:?} twice");
            strings.push(string);
            let own = [hand.fret, hand.trill_fret].into_iter().flatten().filter(|f| *f > 0);
            for fret in own.clone() {
                frets.push(fret);
            }
            // The finger that stops the note; on a trill from an open string, that trills.
            let stopped = hand.fret.filter(|f| *f > 0).or(hand.trill_fret);
            if let Some(fret) = stopped {
                let finger = hand.left.unwrap_or_else(|| panic!("{name}: a fret with no finger"));
                let other = fingers.iter().find(|(f, _)| *f == finger);
                assert!(other.is_none_or(|(_, at)| *at == fret), "{name}: {finger:?} at two frets");
                fingers.push((finger, fret));
            }
        }
        if let (Some(low), Some(high)) = (frets.iter().min(), frets.iter().max()) {
            assert!(high - low <= STRETCH, "{}: frets {low} to {high}", chunk.name);
        }
        // A higher finger never stands on a lower fret.
        for (a, at) in &fingers {
            for (b, bt) in &fingers {
                assert!((*a as u8) >= (*b as u8) || at <= bt, "{}: crossed fingers", chunk.name);
            }
        }
    }
}

#[test]
fn the_demo_study_is_what_it_says() {
    let (study, prepared) = load("lantern-quay.study");
    assert_eq!(study.title.as_deref(), Some("Lantern Quay"));
    let notes: usize = prepared.iter().map(|c| c.notes.len()).sum();
    assert!((150..=240).contains(&notes), "{notes} notes");
    let last = prepared.last().unwrap();
    let bars = u32::from(last.first_bar) - 1
        + (last.into_first_bar.plus(last.length).get()) / last.metre.bar().get();
    assert_eq!(bars, 16);
    for chunk in &prepared {
        let half = chunk.metre.bar().get() / 2;
        assert!((half..=4 * half).contains(&chunk.length.get()), "{}", chunk.name);
        assert_eq!(chunk.notes.len(), chunk.hand.len());
        assert_eq!(chunk.chunk().notes().len(), chunk.notes.len());
    }
    // Chunks follow each other without gaps.
    for pair in prepared.windows(2) {
        let place = |c: &Prepared, at: Ticks| c.chunk().place(at);
        assert_eq!(
            place(&pair[0], pair[0].length),
            place(&pair[1], Ticks::ZERO),
            "{}",
            pair[1].name
        );
    }
}

#[test]
fn the_demo_study_can_be_played() {
    for name in ["lantern-quay.study", "small.study"] {
        for chunk in load(name).1 {
            assert_playable(&chunk);
            for index in 0..chunk.alternatives.len() {
                assert_playable(&chunk.in_alternative(index).unwrap());
            }
        }
    }
}

#[test]
fn the_demo_study_shows_everything_the_judge_measures() {
    let (_, prepared) = load("lantern-quay.study");
    let all = || prepared.iter().flat_map(|c| &c.notes);
    for mark in
        [Marks::ROLLED, Marks::SHIFT, Marks::ACCENT, Marks::HELD, Marks::STACCATO, Marks::LANDING]
    {
        assert!(all().any(|n| n.marks.has(mark)), "{mark:?}");
    }
    assert!(all().any(|n| n.trill.is_some()));
    let hands = || prepared.iter().flat_map(|c| &c.hand);
    assert!(hands().any(|h| h.slur == Some(evenhand::study::Slur::HammerOn)));
    assert!(hands().any(|h| h.slur == Some(evenhand::study::Slur::PullOff)));
    assert_eq!(prepared.iter().map(|c| c.alternatives.len()).sum::<usize>(), 1);
}

#[test]
fn the_climb_is_chromatic_in_both_fingerings() {
    let (_, prepared) = load("lantern-quay.study");
    let climb = prepared.iter().find(|c| c.name == "The climb").unwrap();
    for chunk in [climb.clone(), climb.in_alternative(0).unwrap()] {
        let pitches: Vec<u8> = chunk.notes.iter().map(|n| n.pitch.number()).collect();
        assert_eq!(pitches, (45..=61).collect::<Vec<_>>());
    }
    let other = climb.in_alternative(0).unwrap();
    assert_eq!(other.notes[0].string.map(GuitarString::number), Some(6));
    assert!(other.notes[4].marks.has(Marks::SHIFT) && !climb.notes[4].marks.has(Marks::SHIFT));
    assert!(other.chunk().notes().len() == 17);
}

#[test]
fn the_small_study_has_eight_notes() {
    let (_, prepared) = load("small.study");
    assert_eq!(prepared.len(), 1);
    // One octave of G major from G2: MIDI 43.
    let pitches: Vec<u8> = prepared[0].notes.iter().map(|n| n.pitch.number()).collect();
    assert_eq!(pitches, [43, 45, 47, 48, 50, 52, 54, 55]);
}

#[test]
fn the_studies_print_and_read_back() {
    for name in ["lantern-quay.study", "small.study"] {
        let (study, _) = load(name);
        let text = print(&study);
        let again = parse(&text).unwrap();
        assert_eq!(again, study);
        assert_eq!(print(&again), text);
    }
}

#[test]
fn the_examples_of_the_specification_are_right() {
    let specification = include_str!("../../../docs/study-format.md");
    // The first of version 2, the second of version 1.
    for (place, chunks) in [(1, 4), (3, 2)] {
        let example = specification.split("```").nth(place).unwrap().trim_start();
        let (_, prepared) = read("docs/study-format.md", example);
        assert_eq!(prepared.len(), chunks);
        prepared.iter().for_each(assert_playable);
    }
    // The names and values in the table of tolerances, between its backquotes.
    let code = specification.split('`').skip(1).step_by(2);
    let lines: Vec<&str> = code.filter(|c| c.starts_with("allow ") && c.contains(' ')).collect();
    let lines: Vec<&str> = lines.into_iter().filter(|c| !c.contains('…')).collect();
    assert_eq!(lines.len(), 19, "{lines:?}");
    for line in lines {
        read(line, &format!("evenhand study 1\n{line}\nchunk \"A\"\nm: 1/4 5:3\n"));
    }
}
