//! What is shown of a study, and in plain lines.

use evenhand_tests::run::{Folder, Run, bundled, command, evenhand};

/// The words of the line that begins with this one.
fn line<'a>(text: &'a str, begin: &str) -> Vec<&'a str> {
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>());
    let mut lines = lines.filter(|words| words.first() == Some(&begin));
    lines.next().unwrap_or_else(|| panic!("no line “{begin}” in\n{text}"))
}

#[test]
fn an_and_belongs_to_the_beat_before_it() {
    let folder = Folder::new();
    let study = folder.write(
        "a.study",
        "evenhand study 1\nchunk \"A\"\n  m: 1/4 5:0 1/8 rest 5:2 1/4 5:3 1/8 5:0 5:2 | \
         rest 5:0 5:2 5:3 1/2 rest |\n",
    );
    let shown = evenhand(&["study", "show", &study]).done().out.clone();
    assert_eq!(line(&shown, "beat"), ["beat", "1", "2&", "3", "4", "&", "1&", "2", "&"], "{shown}");
}

#[test]
fn a_study_is_shown_with_all_that_it_says() {
    let folder = Folder::new();
    let study = folder.write(
        "a.study",
        "evenhand study 1\nchunk \"A\"\n  top: shift V 1/4 1:5(1 a) 1/8 1:7(3 m) ^1:8(4) barre IV \
         1/2 1:4(1 i) |\n  low: 1/2. 5:0(p) 1/4 rest |\n  alternative \"lower\"\n    \
         top: shift IX 1/4 2:10(1 a) 1/8 2:12(3 m) ^2:13(4) 1/2 2:9(1 i) |\n    \
         low: 1/2. 5:0(p) 1/4 rest |\n",
    );
    let shown = evenhand(&["study", "show", &study]).done().out.clone();
    let (first, other) = shown.split_once("A, otherwise: lower\n").expect("the alternative");
    assert_eq!(line(first, "top"), ["top", "1/4", "1/8", "1/2"]);
    assert_eq!(line(first, "low"), ["low", "3/4"]);
    assert_eq!(line(first, "left"), ["left", "1", "3", "4", "1"]);
    assert_eq!(line(first, "right"), ["right", "pa", "m", "i"]);
    assert_eq!(line(first, "shift"), ["shift", "V"]);
    assert_eq!(line(first, "barre"), ["barre", "IV"]);
    assert_eq!(line(other, "shift"), ["shift", "IX"]);
    assert!(line(other, "2").concat().contains("10"), "{other}");
    assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
}

#[test]
fn a_plain_line_is_one_and_tells_the_goal() {
    let study = bundled("studies/lantern-quay.study");
    let takes = ["lanterns-two-clean", "shifts-hesitation"];
    let takes = takes.map(|take| bundled(&format!("performances/{take}.mid")));
    let run = evenhand(&["judge", &study, &takes[0], &takes[1], "--plain"]);
    let lines: Vec<&str> = run.done().out.lines().collect();
    assert_eq!(lines.len(), 2, "{lines:#?}");
    for (line, (take, says)) in lines.iter().zip(takes.iter().zip([
        "Lanterns, two, 66 beats a minute (goal 72), passed: ",
        "Two shifts to the top, 60 beats a minute (goal 72), needs work: 210 ms lost",
    ])) {
        assert!(line.starts_with(&format!("{take}: {says}")), "{line}");
    }
    let folder = Folder::new();
    let nothing = folder.write("nothing.txt", "1000000\n");
    let words = ["listen", &study, "--timed", &nothing, "--no-log", "--plain"];
    let run = evenhand(&words);
    assert_eq!(run.done().out.lines().count(), 1, "{run:?}");
    assert!(run.out.contains(", unclear: "), "{run:?}");
    // What is heard of the channels is a line, too, and nothing is set apart by an empty one.
    let stream: String = (0..8)
        .map(|n| {
            let (at, channel, pitch) = (500_000 + n * 400_000, n % 6, 64 - n % 6 * 5);
            format!("{at} 9{channel} {pitch:02x} 50\n{} 8{channel} {pitch:02x} 40\n", at + 300_000)
        })
        .collect();
    let stream = folder.write("some.txt", stream + "30000000\n");
    let run = evenhand(&["listen", &study, "--timed", &stream, "--no-log", "--plain"]);
    assert!(run.done().out.contains("channel") && !run.out.contains("\n\n"), "{run:?}");
    let demo = evenhand(&["demo", "--plain"]);
    let verdicts = |line: &&str| line.contains(" beats a minute (goal ");
    assert_eq!(demo.done().out.lines().filter(verdicts).count(), 9, "{demo:?}");
    assert!(demo.out.lines().all(|line| !line.is_empty()), "{demo:?}");
}

/// What the program records is a score for what it hears: by the clock, since it has no beats.
#[test]
fn a_recording_of_our_own_can_be_a_score() {
    let folder = Folder::new();
    // A chord whose notes come 8 ms apart, then four notes; the second time in another order.
    let stream = |order: [u8; 3]| {
        let mut lines = Vec::new();
        let chord = order.iter().zip([0, 8, 16]).map(|(note, late)| (500 + late, *note));
        for (at, note) in chord.chain((0..4).map(|n| (1_000 + 500 * u64::from(n), 60 + n))) {
            lines.push((at, format!("90 {note:02x} {:02x}", 0x50 + note % 3)));
            lines.push((at + 400, format!("80 {note:02x} 40")));
        }
        lines.sort();
        let lines = lines.iter().map(|(at, bytes)| format!("{} {bytes}\n", at * 1_000));
        lines.collect::<String>()
    };
    let take = |name: &str, order| {
        let timed = folder.write(&format!("{name}.txt"), stream(order));
        let file = folder.path(&format!("{name}.mid"));
        evenhand(&["record", &file, "--timed", &timed]).done();
        file
    };
    let (score, played) = (take("score", [45, 52, 57]), take("played", [57, 45, 52]));
    let words = ["judge", "--expected", &score, "--played", &played, "--channels", "one"];
    let run = evenhand(&[&words[..], &["--plain"]].concat());
    let says = "score, 120 beats a minute (goal 120), passed: ";
    assert!(run.done().out.starts_with(says), "{run:?}");
    let run = evenhand(&[&words[..], &["--events"]].concat());
    let attempt = &run.done().events()[1];
    assert_eq!(
        (attempt["expected_notes"].as_u64(), attempt["played_notes"].as_u64()),
        (Some(7), Some(7))
    );
}

#[test]
fn one_of_something_is_one() {
    let small = bundled("studies/small.study");
    let run = evenhand(&["study", "check", &small]);
    assert_eq!(run.done().out, format!("{small}: right (one chunk, 8 notes)\n"));
    let folder = Folder::new();
    let run = evenhand(&["pack", &small, "--out", &folder.path("a.pack")]);
    assert!(run.done().out.contains("”, one chunk, "), "{run:?}");
}

#[test]
fn the_version_tells_what_the_build_can_do() {
    let run = evenhand(&["--version"]);
    let lines: Vec<&str> = run.done().out.lines().collect();
    let live = Run::of(&mut command(&["ports", "--help"]), Vec::new()).code == 0;
    assert!(lines[0].starts_with("evenhand "), "{lines:?}");
    assert_eq!(lines[1].starts_with("MIDI ports: not in"), !live, "{lines:?}");
    assert!(lines[2].starts_with("sound: "), "{lines:?}");
}
