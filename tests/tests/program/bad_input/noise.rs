//! Random bytes, files cut at every length, files with one byte changed.

use crate::bad_input::made::file_of;
use evenhand_tests::performances::STUDY;
use evenhand_tests::run::{Folder, Run, bundled, code, command, evenhand};
use evenhand_tests::seeded::Seeded;
use evenhand_tests::stream::{Kind, make};

const SEEDS: u64 = 60;

fn bytes(seed: u64) -> Vec<u8> {
    let mut seeded = Seeded::new(seed);
    (0..seeded.between(1, 4_000)).map(|_| seeded.byte()).collect()
}

#[test]
fn random_bytes_are_no_recording_and_no_score() {
    let folder = Folder::new();
    let (study, good) =
        (bundled("studies/small.study"), bundled("performances/bells-one-clean.mid"));
    for seed in 0..SEEDS {
        let noise = folder.write("noise.mid", bytes(seed));
        let words = [noise.as_str(), "is not a Standard MIDI File", "usually named .mid"];
        evenhand(&["judge", &study, &noise]).refused(code::INPUT, &words);
        evenhand(&["judge", "--expected", &noise, "--played", &good]).refused(code::INPUT, &words);
        evenhand(&["judge", "--expected", &good, "--played", &noise]).refused(code::INPUT, &words);
    }
}

#[test]
fn random_bytes_in_a_whole_track_are_judged_or_refused() {
    let folder = Folder::new();
    let study = bundled("studies/small.study");
    let (mut judged, mut refused) = (0, 0);
    for seed in 0..4 * SEEDS {
        let mut seeded = Seeded::new(seed);
        let kind = if seed % 4 == 0 { Kind::Plain } else { Kind::ALL[seeded.index(7)] };
        let mut track = Vec::new();
        // Half of them messages of a stream with times before them, half of them anything.
        for byte in make(kind, &mut seeded) {
            if seed % 2 == 0 && (0x80..0xf8).contains(&byte) {
                track.push(seeded.byte() & 0x7f);
            }
            track.push(byte);
        }
        track.extend([0, 0xff, 0x2f, 0]);
        let noise = folder.write("noise.mid", file_of(&track));
        let run = evenhand(&["judge", &study, &noise]);
        if run.code == code::DONE {
            run.done();
            judged += 1;
        } else {
            run.refused(code::INPUT, &[&noise, "Save or export it again."]);
            refused += 1;
        }
    }
    assert!(judged > 10 && refused > 10, "{judged} were judged, {refused} refused");
}

#[test]
fn random_bytes_are_no_study() {
    let folder = Folder::new();
    for seed in 0..SEEDS {
        let noise = folder.write("noise.study", bytes(seed));
        let run = evenhand(&["study", "check", &noise]);
        run.refused(code::STUDY, &[&noise, "line ", ", column "]);
    }
}

/// Pieces of the format in any order are spelt rightly and mean nothing.
#[test]
fn random_words_of_the_format_are_checked_like_any_study() {
    let folder = Folder::new();
    let words: Vec<&str> = STUDY.split_inclusive([' ', '\n', '(', ')', '+', '"']).collect();
    for seed in 0..4 * SEEDS {
        let mut seeded = Seeded::new(seed);
        let some: String = (0..200).map(|_| words[seeded.index(words.len())]).collect();
        let noise = folder.write("words.study", format!("evenhand study 1\n{some}"));
        checked(&evenhand(&["study", "check", &noise]), &noise);
    }
}

#[test]
fn a_study_cut_anywhere_is_right_or_its_place_is_told() {
    let folder = Folder::new();
    let mut refused = 0;
    for length in (0..STUDY.len()).step_by(5) {
        let cut = folder.write("cut.study", &STUDY.as_bytes()[..length]);
        refused += u32::from(checked(&evenhand(&["study", "check", &cut]), &cut));
    }
    assert!(refused > 300, "only {refused} cuts were noticed");
}

/// Whether it was refused.
fn checked(run: &Run, study: &str) -> bool {
    if run.code == code::DONE {
        run.done();
        return false;
    }
    run.refused(code::STUDY, &[study, "line ", ", column ", " would be right"]);
    true
}

#[test]
fn random_bytes_are_a_stream_like_any_other() {
    let study = bundled("studies/small.study");
    let listen = ["listen", &study, "--raw", "-", "--events"];
    let mut heard = 0;
    for seed in 0..SEEDS {
        let noise = match Kind::ALL.get(seed as usize % 8) {
            Some(&kind) => make(kind, &mut Seeded::new(seed)),
            None => bytes(seed),
        };
        let run = Run::of(&mut command(&listen), noise);
        let last = run.done().events().pop().expect("it says something");
        assert_ne!(last["verdict"], "passed", "{run:?}");
        let notes = last["played_notes"].as_u64();
        heard += u32::from(last["kind"] == "verdict" || notes.is_some_and(|notes| notes > 0));
    }
    assert!(heard > 20, "only {heard} streams held a note");
}

#[test]
fn a_recording_cut_at_any_length_is_refused() {
    let folder = Folder::new();
    let study = bundled("studies/lantern-quay.study");
    let path = bundled("performances/engine-spread-chord.mid");
    let whole = std::fs::read(&path).expect("it is bundled");
    evenhand(&["judge", &study, &path]).done();
    for length in 0..whole.len() {
        let cut = folder.write("cut.mid", &whole[..length]);
        let run = evenhand(&["judge", &study, &cut]);
        let what = match length {
            0 => "is empty",
            1..4 => "is not a Standard MIDI File",
            4..14 => "ends inside its header",
            14..22 => "promises 1 tracks and holds 0",
            _ => "ends inside track 1",
        };
        run.refused(code::INPUT, &[&cut, what]);
    }
}

#[test]
fn a_recording_with_a_byte_changed_is_judged_or_refused() {
    let folder = Folder::new();
    let study = bundled("studies/lantern-quay.study");
    let path = bundled("performances/bells-one-clean.mid");
    let whole = std::fs::read(&path).expect("it is bundled");
    let mut seeded = Seeded::new(7);
    for at in 0..whole.len() {
        let mut changed = whole.clone();
        changed[at] ^= seeded.between(1, 255) as u8;
        let changed = folder.write("changed.mid", changed);
        let run = evenhand(&["judge", &study, &changed]);
        if run.code == code::DONE {
            run.done();
        } else {
            run.refused(code::INPUT, &[&changed]);
        }
    }
}
