//! Scores that are no chunk, and the formats that a score may have.

use crate::bad_input::made::{file_of, quarters, recording, score};
use evenhand_tests::run::{Folder, Run, code, evenhand};
use midly::{Format, Fps, Timing};

fn judge(score: &str, played: &str) -> Run {
    evenhand(&["judge", "--expected", score, "--played", played, "--events"])
}

/// Eight notes and a steady recording of them, half a second each.
fn eight() -> (Vec<(u32, u8)>, Vec<u8>) {
    let notes: Vec<(u32, u8)> = (0..8).map(|i| (i, 52 + i as u8)).collect();
    let played: Vec<_> =
        notes.iter().map(|&(at, pitch)| (700 + u64::from(at) * 500, 0, pitch)).collect();
    (notes, recording(&played))
}

#[test]
fn formats_0_and_1_are_read_and_format_2_is_refused() {
    let folder = Folder::new();
    let (notes, played) = eight();
    let played = folder.write("played.mid", played);
    for format in [Format::SingleTrack, Format::Parallel] {
        let right = folder.write("score.mid", score(format, quarters(), &notes));
        let run = judge(&right, &played);
        assert_eq!(run.done().verdicts()[0].outcome, "passed", "{run:?}");
    }
    let several = folder.write("several.mid", score(Format::Sequential, quarters(), &notes));
    let words = [several.as_str(), "format 2", "Export it as format 0 or 1."];
    judge(&several, &played).refused(code::INPUT, &words);
    judge(&played, &several).refused(code::INPUT, &words);
}

/// What a score in MusicXML expects is judged as what a Standard MIDI File does.
#[test]
fn a_score_in_musicxml_is_judged_by() {
    let folder = Folder::new();
    let (_, played) = eight();
    let played = folder.write("played.mid", played);
    let letters = ["E", "F", "F#", "G", "G#", "A", "A#", "B"];
    let part = |from: usize| -> String {
        let letters = letters.iter().cycle().skip(from).take(letters.len());
        letters
            .map(|name| {
                let (step, alter) = name.split_at(1);
                let alter = if alter.is_empty() { "" } else { "<alter>1</alter>" };
                format!(
                    "<note><pitch><step>{step}</step>{alter}<octave>3</octave></pitch>\
                     <duration>1</duration></note>"
                )
            })
            .collect()
    };
    let score = |more: &str| {
        format!(
            "<score-partwise><part-list><score-part id='A'><part-name>Lamp</part-name></score-part>\
             <score-part id='B'><part-name>Other</part-name></score-part></part-list><part id='A'>\
             <measure number='1'><attributes><divisions>1</divisions><time><beats>8</beats>\
             <beat-type>4</beat-type></time></attributes><sound tempo='120'/>{}</measure></part>\
             {more}</score-partwise>",
            part(0)
        )
    };
    let one = folder.write("one.musicxml", score(""));
    let run = judge(&one, &played);
    assert_eq!(run.done().verdicts()[0].outcome, "passed", "{run:?}");
    let two = folder.write(
        "two.musicxml",
        score(&format!(
            "<part id='B'><measure number='1'><direction><direction-type><words>calmly</words>\
         </direction-type></direction>{}</measure></part>",
            part(3)
        )),
    );
    judge(&two, &played).refused(code::USAGE, &["1 “Lamp” and 2 “Other”", "--part"]);
    let with = |part: &str| {
        evenhand(&["judge", "--expected", &two, "--part", part, "--played", &played, "--events"])
    };
    assert_eq!(with("lamp").done().verdicts()[0].outcome, "passed");
    let other = with("other");
    assert!(other.err.contains("bar 1: the words “calmly”"), "{other:?}");
    assert_ne!(other.verdicts()[0].outcome, "passed", "other notes");
    let midi = evenhand(&["judge", "--expected", &played, "--part", "1", "--played", &played]);
    midi.refused(code::USAGE, &["no parts", "MusicXML"]);
}

/// A time code of 24 frames of 40 ticks is 960 ticks a second: two quarters at the usual tempo.
#[test]
fn a_score_in_time_code_is_read() {
    let folder = Folder::new();
    let (notes, played) = eight();
    let played = folder.write("played.mid", played);
    let timing = Timing::Timecode(Fps::Fps24, 40);
    let timed = folder.write("timed.mid", score(Format::SingleTrack, timing, &notes));
    let run = judge(&timed, &played);
    assert_eq!(run.done().verdicts()[0].outcome, "passed", "{run:?}");
    // The same the other way round: a recording in time code.
    let run = judge(&timed, &timed);
    let events = run.done().events();
    let late = events.iter().filter(|event| event["kind"] == "pair").map(|pair| &pair["at_us"]);
    assert!(late.enumerate().all(|(i, at)| *at == i as u64 * 500_000), "{run:?}");
}

#[test]
fn a_quarter_without_ticks_is_refused() {
    let folder = Folder::new();
    let (notes, played) = eight();
    let played = folder.write("played.mid", played);
    for (high, low) in [(0, 0), (0xe7, 0)] {
        let mut file = score(Format::SingleTrack, quarters(), &notes);
        (file[12], file[13]) = (high, low);
        let none = folder.write("none.mid", file);
        judge(&none, &played).refused(code::INPUT, &[&none, "no ticks", "Save or export it again"]);
    }
}

#[test]
fn three_hundred_notes_are_too_many_for_a_chunk() {
    let folder = Folder::new();
    let played = folder.write("played.mid", eight().1);
    let notes: Vec<_> = (0..300).map(|i| (i, 40 + (i % 30) as u8)).collect();
    let long = folder.write("long.mid", score(Format::SingleTrack, quarters(), &notes));
    let words = [long.as_str(), "300 notes", "at most 256", "Cut the score into chunks"];
    judge(&long, &played).refused(code::INPUT, &words);
    let full = folder.write("full.mid", score(Format::SingleTrack, quarters(), &notes[..256]));
    judge(&full, &played).done();
}

#[test]
fn nine_notes_together_are_too_many_and_told_where() {
    let folder = Folder::new();
    let played = folder.write("played.mid", eight().1);
    let mut notes: Vec<_> = (0..9).map(|i| (4, 50 + i)).collect();
    notes.extend([(0, 40), (8, 40)]);
    let full = folder.write("full.mid", score(Format::SingleTrack, quarters(), &notes));
    let words = [full.as_str(), "more than 8 notes begin together", "quarter 5", "Leave out"];
    judge(&full, &played).refused(code::INPUT, &words);
    notes.remove(0);
    let right = folder.write("right.mid", score(Format::SingleTrack, quarters(), &notes));
    judge(&right, &played).done();
}

#[test]
fn a_score_without_notes_is_no_chunk() {
    let folder = Folder::new();
    let played = folder.write("played.mid", eight().1);
    let silent = folder.write("silent.mid", score(Format::SingleTrack, quarters(), &[]));
    judge(&silent, &played).refused(code::INPUT, &[&silent, "no notes", "Is it the right file"]);
}

#[test]
fn a_score_of_too_many_quarters_is_refused() {
    let folder = Folder::new();
    let played = folder.write("played.mid", eight().1);
    let notes = [(0, 60), (400, 60)];
    let long = folder.write("long.mid", score(Format::SingleTrack, quarters(), &notes));
    judge(&long, &played).refused(code::INPUT, &[&long, "longer than 340 quarter notes", "Cut"]);
}

/// Notes that never end, end twice, or begin twice on one string.
#[test]
fn slips_of_a_score_are_passed_over() {
    let folder = Folder::new();
    let played = folder.write("played.mid", eight().1);
    let mut track = vec![0, 0x80, 60, 64];
    track.extend([0, 0x90, 60, 80, 0, 60, 80, 0, 0x91, 64, 80, 0, 0x90, 67, 80]);
    track.extend([10, 0x80, 60, 64, 0, 60, 64, 0, 60, 64]);
    // A metre of 0/1 with a tempo of 0.
    track.extend([0, 0xff, 0x58, 4, 0, 0, 24, 8, 0, 0xff, 0x51, 3, 0, 0, 0]);
    track.extend([0, 0xff, 0x2f, 0]);
    let odd = folder.write("odd.mid", file_of(&track));
    judge(&odd, &played).done();
}
