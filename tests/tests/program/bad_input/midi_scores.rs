//! Standard MIDI Files that are to become studies: what is damaged, made to do harm, or asked for wrongly.

use crate::bad_input::made::{file_of, quarters, score};
use crate::bad_input::no_study_comes_of;
use evenhand_tests::run::{Folder, Run, bounded_in_time, bundled, code, evenhand};
use midly::{Format, Fps, Timing};

/// Memory and time that are enough for the largest that is read: KiB and seconds.
const MOST: u32 = 200 * 1024;
const SECONDS: u32 = 20;

/// A track with a tempo of one microsecond a quarter, and a note.
const TAKE: &[u8] =
    &[0, 0xff, 0x51, 3, 0, 0, 1, 0, 0x90, 60, 80, 96, 0x80, 60, 0, 0, 0xff, 0x2f, 0];

/// Notes of a track: as many as this, so many ticks after each other, each as long as `length`.
fn many(count: u32, apart: &[u8], length: &[u8]) -> Vec<u8> {
    let mut track = Vec::new();
    for number in 0..count {
        let pitch = 40 + (number % 40) as u8;
        track.extend(apart.iter().chain(&[0x90, pitch, 80]).chain(length));
        track.extend([0x80, pitch, 64]);
    }
    track.extend([0, 0xff, 0x2f, 0]);
    file_of(&track)
}

fn hostile() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let one = &[(0, 60)];
    let whole = score(Format::SingleTrack, quarters(), one);
    let far = &[0xff, 0xff, 0xff, 0x7f];
    vec![
        ("empty.mid", Vec::new(), "is empty"),
        ("words.mid", b"no music".to_vec(), "not a Standard MIDI File"),
        ("cut.mid", whole[..whole.len() - 6].to_vec(), "ends inside track 1"),
        ("several.mid", score(Format::Sequential, quarters(), one), "Export it as format 0 or 1."),
        (
            "film.mid",
            score(Format::SingleTrack, Timing::Timecode(Fps::Fps25, 40), one),
            "Export it with ticks per quarter note.",
        ),
        ("silent.mid", file_of(&[0, 0xff, 0x2f, 0]), "holds no notes"),
        (
            "drums.mid",
            file_of(&[0, 0x99, 38, 80, 10, 0x89, 38, 0, 0, 0xff, 0x2f, 0]),
            "holds no notes",
        ),
        ("many.mid", many(60_000, &[0x60], &[0x60]), "room for 20000"),
        ("far.mid", many(40, far, &[0x60]), "more than 9999 bars"),
        ("long.mid", many(40, &[0], far), "more than 9999 bars"),
        ("clock.mid", file_of(TAKE), "those of a clock"),
    ]
}

#[test]
fn what_cannot_be_a_study_is_refused_at_once_and_in_little_memory() {
    no_study_comes_of(hostile());
}

/// As many notes as are read, all of them at once or one after the other, end in a study or in words.
#[test]
fn much_at_once_is_bounded() {
    let folder = Folder::new();
    for (name, content) in [
        ("at-once.mid", many(20_000, &[0], &[0])),
        ("quick.mid", many(20_000, &[1], &[0x60])),
        ("row.mid", many(20_000, &[0], &[0x60])),
    ] {
        let path = folder.write(name, content);
        let out = folder.path("much.study");
        let arguments = ["study", "import", &path, "--out", &out, "--replace"];
        let run = Run::of(&mut bounded_in_time(MOST, SECONDS, &arguments), Vec::new());
        assert!([0, code::INPUT].contains(&run.code), "{name}: {run:?}");
    }
}

#[test]
fn tracks_and_channels_are_asked_for_in_words() {
    let folder = Folder::new();
    let study = bundled("studies/lantern-quay.study");
    let midi = folder.path("quay.mid");
    evenhand(&["study", "export", &study, "--out", &midi]).done();
    let out = folder.path("back.study");
    let import = |more: &[&str]| {
        let first = ["study", "import", midi.as_str(), "--out", out.as_str(), "--replace"];
        evenhand(&[first.as_slice(), more].concat())
    };
    import(&[]).refused(code::USAGE, &["has several parts", "--joined"]);
    import(&["--part", "nobody"]).refused(code::USAGE, &["no part “nobody”"]);
    import(&["--joined", "--channels", "string"]).done();
    evenhand(&["study", "check", &out]).done();
    let printed = bundled("scores/two-lamps.musicxml");
    for more in [["--channels", "string"].as_slice(), &["--joined"]] {
        let first = ["study", "import", printed.as_str(), "--out", out.as_str(), "--replace"];
        evenhand(&[first.as_slice(), more].concat())
            .refused(code::USAGE, &["is no Standard MIDI File", "leave them out"]);
    }
}
