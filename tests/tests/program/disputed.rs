//! “That was right”: an attempt that was misheard is taken back, kept with its bytes, and judged again
//! from the file in which it travels.

use evenhand::practice::{Plan, Settings};
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::units::Offset;
use evenhand_tests::kept;
use evenhand_tests::run::{CONFIG, Folder, Run, code, command, evenhand};
use evenhand_tests::told::{Told, task};
use serde_json::Value;
use std::collections::BTreeSet;
use std::process::Command;

/// Names that must not travel.
const STUDY: &str = "evenhand study 1\ntitle Quay of Lanterns\nmetre 4/4\ntempo 100\nlevel first\n\
     chunk \"Harbour wall\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n\
     chunk \"Gangway\" at bar 2\n  m: 1/8 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n";

/// The switch that says so.
const PRESSED: [u8; 3] = [0xb0, 66, 127];

/// Between attempts, in microseconds.
const REST: u64 = 6_000_000;

/// Three wrong notes: more than the level lets pass.
fn slips() -> Vec<Fault> {
    [2, 4, 6].map(|note| Fault::Wrong { note, semitones: 1 }).to_vec()
}

fn at(folder: &Folder, words: &[&str]) -> Command {
    let settings = folder.path("settings");
    std::fs::create_dir_all(&settings).expect("a folder");
    let text = "evenhand settings 1\nswitch-misheard = control 66 on channel 1\n";
    std::fs::write(format!("{settings}/settings.txt"), text).expect("written");
    let mut command = command(words);
    command.env(CONFIG, settings);
    command
}

/// Somebody who practises, and what the program asks them for.
struct Sitting {
    practice: Told,
    plan: Plan,
    step: Value,
    seed: u64,
}

impl Sitting {
    fn begin(folder: &Folder, more: &[&str]) -> Self {
        let study = folder.write("quay.study", STUDY);
        let data = folder.path("data");
        let words = [&["practice", &study, "--data", &data], more].concat();
        let mut practice = Told::start(&mut at(folder, &words));
        practice.wait(1_000_000);
        let plan = Plan::new(&evenhand::study::parse(STUDY).unwrap(), &Settings::default());
        let mut sitting = Self { practice, plan: plan.unwrap(), step: Value::Null, seed: 1 };
        sitting.events("step");
        sitting
    }

    /// The events up to the next step, which is what is asked for now.
    fn events(&mut self, kind: &str) -> Vec<Value> {
        let events = self.practice.until(kind).expect("it goes on");
        self.step = events.last().expect("it").clone();
        events
    }

    /// Plays what is asked for. The verdict.
    fn play(&mut self, faults: &[Fault]) -> Value {
        let task = task(&self.step).expect("a task");
        let music = self.plan.music(task).expect("music");
        let played = perform(&music.chunk(), task.tempo, Skill::SKILLED, faults, self.seed);
        self.seed += 1;
        self.practice.play(played.notes(), REST);
        let events = self.events("step");
        events.iter().find(|event| event["kind"] == "verdict").expect("a verdict").clone()
    }

    /// Says that it was right. What comes of it.
    fn says(&mut self) -> Vec<Value> {
        self.practice.wait(200_000);
        self.practice.send(&PRESSED);
        self.practice.wait(200_000);
        self.events("step")
    }
}

#[test]
fn what_is_taken_back_does_not_count_is_kept_and_is_judged_again_from_its_file() {
    let folder = Folder::new();
    let mut sitting = Sitting::begin(&folder, &["--for", "Somebody"]);
    let verdict = sitting.play(&slips());
    assert_eq!(verdict["verdict"], "needs work", "{verdict}");
    let slower = sitting.step.clone();
    assert!(slower["reason"]["slower"].is_object(), "{slower}");
    let events = sitting.says();
    let disputed = events.iter().find(|event| event["kind"] == "disputed").expect("it");
    assert_eq!((&disputed["attempt"], &disputed["kept"]), (&1.into(), &true.into()));
    assert_eq!(sitting.step["reason"], "taken-back");
    assert_ne!(sitting.step["task"], slower["task"]);
    let sentences: Vec<&str> =
        sitting.step["sentences"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert_eq!(
        sentences,
        [
            "Taken back: it does not count. Again at 60 beats a minute.",
            "It is kept for whoever improves the judge."
        ]
    );
    // Nothing has failed by it: what is clean goes on by leaps.
    assert_eq!(sitting.play(&[])["verdict"], "passed");
    assert!(sitting.step["reason"]["leap"].is_object(), "{}", sitting.step);
    assert_eq!(sitting.play(&slips())["verdict"], "needs work");
    sitting.says();
    assert_eq!(sitting.play(&[])["verdict"], "passed");
    assert!(sitting.step["reason"]["leap"].is_object(), "{}", sitting.step);
    // A pass is nothing to take back, and is left as it is.
    let faster = sitting.step["task"].clone();
    sitting.practice.send(&PRESSED);
    sitting.practice.wait(1_000_000);
    // Twice it was said that wrong notes here are the pickup's: they would be left open by now.
    let hesitation = Fault::Hesitation { note: 4, lost: Offset::from_millis(900) };
    assert_eq!(sitting.play(&[hesitation])["verdict"], "needs work");
    assert_ne!(sitting.step["task"], faster);
    let (rest, errors) = sitting.practice.end();
    assert_eq!(errors.trim(), "evenhand: Nothing to take back: it passed.");
    let summary = rest.iter().find(|event| event["kind"] == "summary").expect("a summary");
    assert_eq!((&summary["attempts"], &summary["passed"]), (&3.into(), &2.into()));

    let data = folder.path("data");
    let log = kept::open(&data);
    assert_eq!(kept::number(&log, "SELECT count(*) FROM attempts"), 5);
    assert_eq!(kept::number(&log, "SELECT count(*) FROM disputes"), 2);
    let run = evenhand(&["history", "--data", &data]);
    let disputed = run.done().out.lines().filter(|line| line.contains(" disputed  ")).count();
    assert_eq!(disputed, 2, "{}", run.out);
    assert!(run.out.contains("disputed    wrong notes"), "{}", run.out);
    assert!(run.out.contains("3 attempts, 2 passed"), "{}", run.out);
    let full = evenhand(&["history", "--data", &data, "--sitting", "1"]);
    assert_eq!(full.done().out.matches("disputed, it does not count").count(), 2, "{}", full.out);
    let events = evenhand(&["history", "--events", "--data", &data]);
    let marks: Vec<bool> =
        events.done().events().iter().filter_map(|event| event["disputed"].as_bool()).collect();
    assert_eq!(marks, [true, false, true, false, false]);

    travels(&folder, &data);
}

/// The file is written once, says nobody's name, and gives the same verdicts.
fn travels(folder: &Folder, data: &str) {
    let file = folder.path("disputed.jsonl");
    let run = evenhand(&["history", "--data", data, "--disputed", &file]);
    assert!(run.done().out.starts_with("2 disputed attempts are in"), "{}", run.out);
    evenhand(&["history", "--data", data, "--disputed", &file])
        .refused(code::OUTPUT, &["was not written", "Name a file that is not there yet."]);
    let text = std::fs::read_to_string(&file).expect("it is there");
    for secret in ["Quay", "Harbour", "Gangway", "Somebody", &folder.path(""), "_at\""] {
        assert!(!text.contains(secret), "“{secret}” is in {text}");
    }
    let lines: Vec<Value> =
        text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!((&lines[0]["kind"], &lines[0]["version"]), (&"disputed-attempts".into(), &1.into()));
    let first = &lines[1];
    assert_eq!(first["verdict"], "needs work");
    assert_eq!(first["findings"][0]["what"], "wrong-notes");
    assert_eq!(first["expected"].as_array().map(Vec::len), Some(8));
    assert_eq!(first["messages"].as_array().map(Vec::len), Some(16));
    assert_eq!(first["pickup"][0], "evenhand pickup 1");
    assert_eq!(first["messages"][0][0], 0);
    let written: BTreeSet<String> = first.as_object().unwrap().keys().cloned().collect();
    assert_eq!(written, documented());

    let again = evenhand(&["judge", "--events", "--disputed", &file]);
    let verdicts: Vec<Value> =
        again.done().events().into_iter().filter(|event| event["kind"] == "verdict").collect();
    assert_eq!(verdicts.len(), 2);
    for (line, verdict) in lines[1..].iter().zip(&verdicts) {
        assert_eq!(line["attempts_together"], 1);
        assert_eq!(line["verdict"], verdict["verdict"]);
        assert_eq!(line["findings"], verdict["findings"]);
    }
    let plain = evenhand(&["judge", "--plain", "--disputed", &file]);
    assert!(plain.done().out.starts_with("disputed attempt 1, told as needs work: "), "{plain:?}");

    // With names, for who wants them in it.
    let named = folder.path("named.jsonl");
    evenhand(&["history", "--data", data, "--disputed", &named, "--names"]).done();
    let named = std::fs::read_to_string(named).expect("it is there");
    assert!(named.contains("Quay of Lanterns") && named.contains("Harbour wall"));

    // What is not such a file, or is damaged, is told with its place.
    let judge = |text: &str| {
        let file = folder.write("other.jsonl", text);
        evenhand(&["judge", "--disputed", &file])
    };
    judge("").refused(code::INPUT, &["does not begin as"]);
    judge(&text.replace("\"version\":1", "\"version\":9")).refused(code::INPUT, &["version 9"]);
    judge(&text.replace("\"messages\":[[0,\"9", "\"messages\":[[0,\"x"))
        .refused(code::INPUT, &["line 2", "no bytes"]);
    judge(&text.replace("evenhand pickup 1", "evenhand pickup 7"))
        .refused(code::INPUT, &["line 2", "the pickup's profile", "version 7"]);
    for cut in (0..text.len()).step_by(97) {
        let run = judge(&text[..cut]);
        assert!([code::DONE, code::INPUT].contains(&run.code), "{run:?}");
    }
}

/// The fields of a line, from the page.
fn documented() -> BTreeSet<String> {
    let page = evenhand_tests::program::workspace().join("docs/disputed.md");
    let page = std::fs::read_to_string(page).expect("the page");
    let table = page.split_once("| field | meaning |").expect("the table").1;
    let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
    let names = rows.filter_map(|line| line.split('`').nth(1)).map(str::to_owned);
    // Only with `--names`.
    names.filter(|name| !["study", "chunk"].contains(&name.as_str())).collect()
}

#[test]
fn where_nothing_was_disputed_no_file_is_written() {
    let folder = Folder::new();
    kept::version_1(&folder);
    let file = folder.path("disputed.jsonl");
    let run = evenhand(&["history", "--data", &folder.path(""), "--disputed", &file]);
    assert!(run.done().out.contains("no file was written"), "{}", run.out);
    assert!(!std::path::Path::new(&file).exists());
}

#[test]
fn a_lesson_leaves_out_what_is_disputed() {
    let folder = Folder::new();
    let study = folder.write("quay.study", STUDY);
    let data = folder.path("data");
    let chunks = evenhand::study::parse(STUDY).unwrap().prepare().unwrap();
    let run = |words: &[&str]| {
        let mut lines = String::from("1000000 b0 42 7f\n1100000 b0 42 00\n");
        let mut now = 2_000_000;
        for (take, faults) in [vec![], slips(), vec![]].iter().enumerate() {
            let chunk = &chunks[0];
            let played =
                perform(&chunk.chunk(), chunk.tempo, Skill::SKILLED, faults, 3 + take as u64);
            lines += &evenhand_tests::told::lines(now, played.notes());
            now += 12_000_000;
            // Said once after the pass, twice after the slips.
            for press in 0..take.min(1) * 2 {
                lines += &format!("{} b0 42 7f\n", now - 3_000_000 + press as u64 * 100_000);
            }
        }
        let words = [&["listen", &study, "--timed", "-", "--data", &data], words].concat();
        Run::of(&mut at(&folder, &words), lines.into_bytes())
    };
    let spoken = run(&["--plain"]);
    assert_eq!(spoken.code, code::DONE);
    let said =
        "Harbour wall, taken back: it does not count. It is kept for whoever improves the judge.";
    assert_eq!(spoken.out.lines().filter(|line| *line == said).count(), 1, "{}", spoken.out);
    let nothing = "evenhand: Nothing to take back: no attempt has been told yet.\n\
                   evenhand: It is taken back already.\n\
                   evenhand: Nothing to take back: it passed.\n\
                   evenhand: Nothing to take back: it passed.\n";
    assert_eq!(spoken.err, nothing);
    assert!(spoken.out.contains("2 attempts, all passed"), "{}", spoken.out);
    let events = run(&["--events", "--no-log", "--exit-by-verdict"]);
    assert_eq!(events.code, code::DONE, "the slips do not count: {}", events.err);
    let disputed: Vec<Value> =
        events.events().into_iter().filter(|event| event["kind"] == "disputed").collect();
    assert_eq!(disputed.len(), 1);
    assert_eq!((&disputed[0]["attempt"], &disputed[0]["kept"]), (&2.into(), &false.into()));
    assert_eq!(kept::number(&kept::open(&data), "SELECT number FROM disputes"), 2);
}
