//! What keeps the hands on the guitar: foot switches that are learnt by pressing them, and a
//! pickup that is found out by playing on it.

use evenhand_core::player::{Skill, perform};
use evenhand_tests::run::{CONFIG, Folder, Run, code, command};
use evenhand_tests::told::Told;
use std::fmt::Write;
use std::process::Command;

/// Two bars that the tests play.
pub(crate) const STUDY: &str = "evenhand study 1\ntitle Two bars\nmetre 4/4\ntempo 100\nlevel first\n\
     chunk \"One\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n\
     chunk \"Two\" at bar 2\n  m: 1/8 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n";

/// The program with the user's settings in this folder.
pub(crate) fn at(folder: &Folder, words: &[&str]) -> Command {
    let mut command = command(words);
    command.env(CONFIG, folder.path("settings"));
    command
}

/// Runs it with these lines as its stream.
pub(crate) fn told(folder: &Folder, words: &[&str], lines: &str) -> Run {
    let words: Vec<&str> = words.iter().copied().chain(["--timed", "-"]).collect();
    Run::of(&mut at(folder, &words), lines.as_bytes().to_vec())
}

/// A pedal's controller, a latching one, a program change and a pad.
const PEDALS: &str = "1000000 b0 40 7f\n1200000 b0 40 00\n\
                      4000000 b0 41 7f\n\
                      8000000 c2 05\n\
                      12000000 99 24 60\n12100000 99 24 00\n14000000\n";

fn learn(folder: &Folder) {
    let run = told(folder, &["footswitch"], PEDALS);
    run.done();
    let learnt = "again: control 64 on channel 1\nnext: control 65 on channel 1, each change\n\
                  back: program 5 on channel 3\nstop: note 36 on channel 10\n\
                  misheard: no switch\n";
    assert!(run.out.ends_with(learnt), "{}", run.out);
}

#[test]
fn a_switch_is_learnt_by_pressing_it_and_forgotten_when_asked() {
    let folder = Folder::new();
    learn(&folder);
    let show = |expected: &str| {
        let run = Run::of(&mut at(&folder, &["footswitch", "--show"]), vec![]);
        assert!(run.done().out.contains(expected), "{}", run.out);
    };
    show("next: control 65 on channel 1, each change\n");
    let forget = Run::of(&mut at(&folder, &["footswitch", "--forget"]), vec![]);
    forget.done();
    show("next: no switch\n");
}

#[test]
fn one_press_for_two_things_is_asked_for_again() {
    let folder = Folder::new();
    let run = told(
        &folder,
        &["footswitch"],
        "1000000 b0 40 7f\n1100000 b0 40 00\n3000000 b0 40 7f\n3100000 b0 40 00\n\
         5000000 b0 43 7f\n5100000 b0 43 00\n6000000\n",
    );
    assert!(run.done().out.contains("That is “again” already."), "{}", run.out);
    assert!(run.out.contains("next: control 67 on channel 1\n"), "{}", run.out);
}

#[test]
fn silence_teaches_nothing_and_keeps_what_was_known() {
    let folder = Folder::new();
    learn(&folder);
    told(&folder, &["footswitch"], "1000000\n").refused(code::LIVE, &["no press", "--port"]);
    let run = Run::of(&mut at(&folder, &["footswitch", "--show"]), vec![]);
    assert!(run.done().out.contains("stop: note 36 on channel 10"), "{}", run.out);
}

#[test]
fn settings_with_a_mistake_say_where() {
    let folder = Folder::new();
    learn(&folder);
    let file = folder.path("settings/settings.txt");
    let text = std::fs::read_to_string(&file).expect("settings");
    std::fs::write(&file, text.replace("program 5", "programme 5")).expect("written");
    let run = Run::of(&mut at(&folder, &["footswitch", "--show"]), vec![]);
    run.refused(code::INPUT, &["settings.txt", "switch-back", "programme 5"]);
}

#[test]
fn practice_goes_where_the_foot_says() {
    let folder = Folder::new();
    learn(&folder);
    let study = folder.write("two.study", STUDY);
    let mut practice = Told::start(&mut at(&folder, &["practice", &study, "--no-log"]));
    let piece = |practice: &Told| {
        let events = practice.until("step").expect("a step");
        let step = events.last().expect("a step").clone();
        (step["task"]["piece"].clone(), events)
    };
    practice.wait(1_000_000);
    assert_eq!(piece(&practice).0["chunk"], 0);
    practice.wait(500_000);
    practice.send(&[0xb0, 65, 127]);
    assert_eq!(piece(&practice).0["chunk"], 1, "next");
    // What is under way is judged as far as it came when the foot asks for something else; the
    // pad that means stop is no note of the guitar.
    let chunks = evenhand::study::parse(STUDY).expect("a study").prepare().expect("chunks");
    let played = perform(&chunks[1].chunk(), chunks[1].tempo, Skill::SKILLED, &[], 4);
    practice.play(played.notes(), 10_000);
    practice.send(&[0xc2, 5]);
    let (judged, events) = piece(&practice);
    let verdicts: Vec<_> = events.iter().filter(|event| event["kind"] == "verdict").collect();
    assert_eq!(verdicts.len(), 1, "{events:?}");
    assert_eq!(judged["chunk"], 1, "the attempt's own step");
    assert_eq!(piece(&practice).0["chunk"], 0, "back");
    // A latching switch is pressed by each change.
    practice.wait(500_000);
    practice.send(&[0xb0, 65, 0]);
    assert_eq!(piece(&practice).0["chunk"], 1, "next again");
    practice.wait(500_000);
    practice.send(&[0x99, 36, 90]);
    let (rest, errors) = practice.end();
    assert_eq!(errors, "");
    assert!(rest.iter().all(|event| event["kind"] != "attempt"), "{rest:?}");
}

/// The notes of a chunk, so many semitones higher, as a stream.
fn moved(chunk: usize, semitones: i8) -> String {
    let chunks = evenhand::study::parse(STUDY).expect("a study").prepare().expect("chunks");
    let chunk = &chunks[chunk];
    let played = perform(&chunk.chunk(), chunk.tempo, Skill::SKILLED, &[], 4);
    let moved: Vec<_> = played
        .notes()
        .iter()
        .map(|note| {
            let pitch = note.pitch.transposed(semitones).expect("a pitch");
            evenhand_core::player::Sounded { pitch, ..*note }
        })
        .collect();
    let mut lines = evenhand_tests::told::lines(6_000_000, &moved);
    lines.push_str("30000000\n");
    lines
}

#[test]
fn what_was_something_else_is_said() {
    let folder = Folder::new();
    let study = folder.write("two.study", STUDY);
    let practice = |lines: &str| {
        let run = told(&folder, &["practice", &study, "--no-log", "--plain"], lines);
        run.done();
        assert!(!run.out.contains("needs work"), "nothing counts: {}", run.out);
        run.out
    };
    let other = practice(&moved(1, 0));
    assert!(other.contains("That was “Two”; “One” is asked for."), "{other}");
    let higher = practice(&moved(0, 1));
    assert!(
        higher.contains("“One”, but all of it a semitone higher than it is written"),
        "{higher}"
    );
    // What was judged, because enough of it is there, does not count either: the tempo stays.
    let words = ["practice", &study, "--no-log", "--plain", "--chunk", "Two"];
    let judged = told(&folder, &words, &moved(1, -2));
    judged.done();
    assert!(judged.out.contains("needs work"), "{}", judged.out);
    let said = "another tuning? That one does not count. Again at 60 beats a minute.";
    assert!(judged.out.contains(said), "{}", judged.out);
    let right = practice(&moved(0, 0));
    assert!(!right.contains("all of it") && right.contains("One, 100 beats"), "{right}");
    // In a lesson, too, where whatever is played is known by itself.
    let lesson = |lines: &str| {
        let run = told(&folder, &["listen", &study, "--no-log", "--events"], lines);
        run.out
            .lines()
            .filter(|line| line.contains("otherwise"))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(lesson(&moved(1, 0)), Vec::<String>::new());
    let lower = lesson(&moved(1, -2));
    assert_eq!(lower.len(), 1, "{lower:?}");
    assert!(lower[0].contains("\"chunk\":\"Two\",\"semitones\":-2"), "{lower:?}");
}

#[test]
fn a_lesson_is_ended_by_foot() {
    let folder = Folder::new();
    learn(&folder);
    let study = folder.write("two.study", STUDY);
    let mut lesson = Told::start(&mut at(&folder, &["listen", &study, "--no-log"]));
    let chunks = evenhand::study::parse(STUDY).expect("a study").prepare().expect("chunks");
    let played = perform(&chunks[0].chunk(), chunks[0].tempo, Skill::SKILLED, &[], 5);
    lesson.play(&played.notes()[..5], 10_000);
    // Again: what was under way does not count.
    lesson.send(&[0xb0, 64, 127]);
    lesson.wait(3_000_000);
    let played = perform(&chunks[1].chunk(), chunks[1].tempo, Skill::SKILLED, &[], 6);
    lesson.play(played.notes(), 10_000);
    lesson.send(&[0x99, 36, 90]);
    let events = lesson.until("verdict").expect("one verdict");
    assert_eq!(events.last().expect("it")["chunk"], "Two");
    let (rest, _) = lesson.end();
    assert!(rest.iter().all(|event| event["kind"] != "verdict"), "{rest:?}");
}

/// Somebody who does what `calibrate` asks for, on a converter with a channel per string from 11
/// on, one string 5 dB softer, ghosts, one period and a half of latency, and slurs as bends.
fn calibration() -> String {
    calibration_of([0; 6])
}

/// The same on a converter whose strings are late by these times beside.
fn calibration_of(beside: [u64; 6]) -> String {
    let mut events: Vec<(u64, Vec<u8>)> = Vec::new();
    let mut now = 1_000_000;
    let mut seeded = evenhand_tests::seeded::Seeded::new(21);
    let open = [64_u8, 59, 55, 50, 45, 40];
    let periods = [3_034_u64, 4_050, 5_102, 6_810, 9_091, 12_135];
    let late: [u64; 6] = std::array::from_fn(|string| periods[string] * 3 / 2 + beside[string]);
    for string in (0..6).rev() {
        for _ in 0..5 {
            let velocity = if string == 4 { 60 } else { 80 } + seeded.between(0, 2) as u8;
            let status = 0x9a + string as u8;
            events.push((now, vec![status, open[string], velocity]));
            if string == 0 {
                events.push((now + 12_000, vec![status, open[string] + 12, 24]));
            }
            events.push((now + 600_000, vec![status, open[string], 0]));
            now += 1_000_000;
        }
        now += 1_500_000;
    }
    for _ in 0..10 {
        for string in [0, 5] {
            let at = now + late[string] + seeded.between(0, 4_000) as u64;
            let status = 0x9a + string as u8;
            events.push((at, vec![status, open[string], 80]));
            events.push((at + 500_000, vec![status, open[string], 0]));
        }
        now += 1_000_000;
    }
    now += 1_500_000;
    for strings in [0..4, 2..6] {
        for _ in 0..8 {
            for string in strings.clone() {
                let at = now + late[string] + seeded.between(0, 4_000) as u64;
                let status = 0x9a + string as u8;
                events.push((at, vec![status, open[string], 80]));
                events.push((at + 500_000, vec![status, open[string], 0]));
            }
            now += 1_000_000;
        }
        now += 1_500_000;
    }
    for _ in 0..4 {
        events.push((now, vec![0x9b, 59, 80]));
        events.push((now + 400_000, vec![0xeb, 0x55, 0x4a]));
        events.push((now + 900_000, vec![0x9b, 59, 0]));
        events.push((now + 910_000, vec![0xeb, 0x00, 0x40]));
        now += 1_500_000;
    }
    events.sort_by_key(|(at, _)| *at);
    let mut lines = String::new();
    for (at, bytes) in events {
        let bytes: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let _ = writeln!(lines, "{at} {}", bytes.join(" "));
    }
    let _ = writeln!(lines, "{}", now + 3_000_000);
    lines
}

#[test]
fn a_pickup_is_found_out_by_playing_on_it() {
    let folder = Folder::new();
    let run = told(&folder, &["calibrate"], &calibration());
    run.done();
    let file = folder.path("settings/pickup.txt");
    let text = std::fs::read_to_string(&file).expect("a profile");
    for line in [
        "channels = strings from 11",
        "bends = slurs",
        "bend-range = 12",
        "string-levels-db = 0, 0, 0, 0, -4.",
        "noise-percent = 3",
        "latency-periods = 1.",
    ] {
        assert!(text.contains(line), "no “{line}” in\n{text}\n{}", run.out);
    }
    assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{}", run.out);
    // It can be read by the program, which says that it does so.
    let study = folder.write("two.study", STUDY);
    let lesson = told(&folder, &["listen", &study, "--no-log", "--events"], "1000000\n");
    assert_eq!(lesson.code, code::DONE);
    assert!(lesson.err.contains("pickup.txt"), "{}", lesson.err);
    let lesson = told(&folder, &["listen", &study, "--no-log", "--no-pickup"], "1000000\n");
    assert_eq!(lesson.err, "");
    // Calibrated anew, the profile before stays beside it.
    told(&folder, &["calibrate"], &calibration()).done();
    assert!(std::fs::exists(folder.path("settings/pickup.before.txt")).expect("a folder"));
}

#[test]
fn strings_that_come_late_by_a_time_of_their_own_are_found_out() {
    let folder = Folder::new();
    let run = told(&folder, &["calibrate"], &calibration_of([0, 0, 0, 60_000, 60_000, 60_000]));
    run.done();
    let text = std::fs::read_to_string(folder.path("settings/pickup.txt")).expect("a profile");
    let line = text.lines().find_map(|line| line.strip_prefix("late-ms = ")).expect(&text);
    let late: Vec<f64> = line.split(", ").map(|late| late.parse().expect("a number")).collect();
    // Half a period of each beside the one that is taken for granted.
    // The same in words, string by string, beside what is saved.
    assert!(
        run.out.contains("Of each string, against the middle of all:\nString 6: 3"),
        "{}",
        run.out
    );
    assert!(run.out.contains(" ms earlier, give or take "), "{}", run.out);
    assert!(!run.out.contains("periods of their pitch"), "{}", run.out);
    let expected = [-31.2, -30.7, -30.2, 30.7, 31.8, 33.3];
    for (late, expected) in late.iter().zip(expected) {
        assert!((late - expected).abs() <= 4.0, "{line}, expected {expected:?}");
    }
    assert!(text.contains("latency-periods = 1\n"), "{text}");
}

/// Files may not grow: the system refuses to write, as a full disk does.
#[cfg(unix)]
#[test]
fn a_profile_that_cannot_be_written_leaves_the_one_before_in_its_place() {
    let folder = Folder::new();
    told(&folder, &["calibrate"], &calibration()).done();
    let file = folder.path("settings/pickup.txt");
    let before = format!("{}# Mine.\n", std::fs::read_to_string(&file).expect("a profile"));
    std::fs::write(&file, &before).expect("a file");
    let mut limited = Command::new("sh");
    // The signal would end the program; without it, writing fails.
    limited.args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$@\"", "sh"]);
    limited.arg(evenhand_tests::program::path()).args(["calibrate", "--timed", "-"]);
    limited.env(CONFIG, folder.path("settings")).stdout(std::process::Stdio::piped());
    Run::of(&mut limited, calibration().into_bytes())
        .refused(code::OUTPUT, &["pickup.txt cannot be written", "--out"]);
    assert_eq!(std::fs::read_to_string(&file).expect("a profile"), before);
    let left = std::fs::read_dir(folder.path("settings")).expect("a folder");
    let left: Vec<_> = left.map(|entry| entry.expect("it").file_name()).collect();
    assert_eq!(left, ["pickup.txt"]);
    // Where it can be, what was there stands beside it.
    told(&folder, &["calibrate"], &calibration()).done();
    let beside = std::fs::read_to_string(folder.path("settings/pickup.before.txt"));
    assert_eq!(beside.expect("the one before"), before);
}

#[test]
fn what_was_not_played_is_not_made_up() {
    let folder = Folder::new();
    let silent = told(&folder, &["calibrate"], "1000000\n400000000\n");
    silent.refused(code::LIVE, &["nothing was found out", "ports"]);
    assert!(!std::fs::exists(folder.path("settings/pickup.txt")).expect("a folder"));
    // The strings alone: no latency, no slurs.
    let whole = calibration();
    let some: String = whole
        .lines()
        .take(61)
        .map(|line| format!("{line}\n"))
        .chain(["200000000\n".to_owned()])
        .collect();
    let run = told(&folder, &["calibrate"], &some);
    assert!(run.done().out.contains("Slurs: 0 were heard"), "{}", run.out);
    let text = std::fs::read_to_string(folder.path("settings/pickup.txt")).expect("a profile");
    assert!(text.contains("channels = strings from 11") && !text.contains("latency"), "{text}");
    assert!(
        run.out.contains("String 6: how late is not known; as loud, give or take 0.1 dB."),
        "{}",
        run.out
    );
}

#[test]
fn a_line_that_is_no_line_is_named() {
    let folder = Folder::new();
    let study = folder.write("two.study", STUDY);
    let words = ["listen", &study, "--no-log"];
    told(&folder, &words, "5 90\n3 90\n")
        .refused(code::LIVE, &["line 2", "back in time", "line right"]);
    told(&folder, &words, "5 xy\n").refused(code::LIVE, &["line 1", "no byte"]);
}
