//! `evenhand history`: what was kept, for people and for programs.

use evenhand_tests::kept;
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, Run, code, command, evenhand};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// History of the log of version 1, in a zone that is 5 h 45 min ahead of UTC.
fn history(more: &[&str]) -> Run {
    let folder = Folder::new();
    kept::version_1(&folder);
    let mut command = command(&[&["history", "--data", &folder.path("")], more].concat());
    Run::of(command.env("TZ", "LOC-05:45"), Vec::new())
}

/// The attempts that are listed: sitting and number.
fn listed(more: &[&str]) -> Vec<(u64, u64)> {
    let run = history(&[&["--events"], more].concat());
    let number = |event: &Value, field: &str| event[field].as_u64().unwrap();
    let events = run.done().events();
    let attempts = events.iter().filter(|event| event["kind"] == "kept-attempt");
    attempts.map(|event| (number(event, "sitting"), number(event, "attempt"))).collect()
}

#[test]
fn sittings_and_attempts_are_listed_in_local_time_the_latest_last() {
    let expected = "\
Monday, 30 March 2026
Sitting 1, 23:25 to 00:05, for pupil-a: Eight Steps
  23:26  Eight steps                 55 of 60   needs work  weak slurs
  23:27  Eight steps                 58 of 60   unclear     unsteady

Tuesday, 31 March 2026
Sitting 1 goes on, for pupil-a: Eight Steps
  00:05  Eight steps                 60 of 60   passed

Sitting 2, 13:45 to 13:46: Quay
  13:45  A chunk with a name that …  - of 60    unclear     broken off

By chunk
  Eight steps: 3 attempts, 1 passed; the last passed. Most often: unsteady (in
    2). Last at 60 beats a minute, the fastest that passed.
  A chunk with a name that is longer than its column: one attempt, unclear.
    Found: broken off.
";
    assert_eq!(history(&[]).done().out, expected);
}

#[test]
fn one_sitting_can_be_seen_in_full() {
    let expected = "\
Monday, 30 March 2026
Sitting 1, 23:25 to 00:05, for pupil-a: Eight Steps

23:26:00 Eight steps, attempt 1, 55 beats a minute (goal 60), level steady:
  needs work
  weak slurs: 10.2 dB, 9 dB would pass; bar 1, beat 2 1/2; 3 places
  unsteady (unsettled): 21 ms, 20 ms would pass
  2 false starts before it

23:27:10 Eight steps, attempt 2, 58 beats a minute (goal 60), level steady:
  unclear (2 attempts together)
  unsteady (unsettled): 21 ms, 20 ms would pass

Tuesday, 31 March 2026
Sitting 1 goes on, for pupil-a: Eight Steps

00:05:21 Eight steps, attempt 3, 60 beats a minute (goal 60), level steady:
  passed
  the pickup erred (advice): 1 note

By chunk
  Eight steps: 3 attempts, 1 passed; the last passed. Most often: unsteady (in
    2). Last at 60 beats a minute, the fastest that passed.
";
    let run = history(&["--sitting", "1"]);
    assert_eq!(run.done().out, expected);
    assert!(run.out.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn what_is_asked_for_is_listed() {
    let all = vec![(1, 1), (1, 2), (1, 3), (2, 1)];
    let first = vec![(1, 1), (1, 2), (1, 3)];
    let second = vec![(2, 1)];
    let none = Vec::new();
    for (more, expected) in [
        (&[][..], &all),
        (&["--study", "eight STEPS"], &first),
        (&["--study", "quay"], &second),
        (&["--study", "quay.study"], &second),
        (&["--study", "/home/player/eight.study"], &first),
        (&["--chunk", "EIGHT steps"], &first),
        (&["--for", "Pupil-A"], &first),
        (&["--study", "quay", "--for", "pupil-a"], &none),
        (&["--last", "2"], &vec![(1, 3), (2, 1)]),
        (&["--last", "2", "--for", "pupil-a"], &vec![(1, 2), (1, 3)]),
        // Midnight is local: the third attempt was after it.
        (&["--since", "2026-03-31"], &vec![(1, 3), (2, 1)]),
        (&["--since", "2026-03-30"], &all),
        (&["--since", "2026-04-01"], &none),
        (&["--sitting", "2"], &second),
        (&["--sitting", "2", "--study", "eight steps"], &none),
    ] {
        assert_eq!(listed(more), *expected, "{more:?}");
    }
}

#[test]
fn where_nothing_is_it_says_what_to_do() {
    let folder = Folder::new();
    let run = evenhand(&["history", "--data", &folder.path("")]);
    assert!(run.done().out.starts_with("Nothing has been kept yet. `evenhand listen STUDY"));
    let made = std::fs::read_dir(&folder).unwrap().count();
    assert_eq!(made, 0, "looking back makes nothing");
    let run = evenhand(&["history", "--events", "--data", &folder.path("")]);
    assert_eq!(run.done().events().len(), 1);
    let run = history(&["--since", "31.3.2026"]);
    assert_eq!(run.code, code::USAGE);
    assert!(run.err.contains("year, month and day: 2026-03-31"), "{run:?}");
    assert_eq!(history(&["--last", "0"]).code, code::USAGE);
    history(&["--since=-009999-01-01"]).refused(code::USAGE, &["range of dates"]);
}

/// The fields of the records of listening and of the log, from the tables of the page.
fn documented() -> BTreeMap<String, BTreeSet<String>> {
    let page = std::fs::read_to_string(workspace().join("docs/events.md")).unwrap();
    let table = page.split_once("| record | its fields | when |").expect("the table").1;
    let names = |cell: &str| -> BTreeSet<String> {
        cell.split('`').skip(1).step_by(2).map(str::to_owned).collect()
    };
    let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
    rows.map(|line| {
        let cells: Vec<_> = line.split('|').skip(1).map(names).collect();
        let fields = cells[1].iter().cloned().chain(["kind".to_owned()]).collect();
        (cells[0].first().unwrap().clone(), fields)
    })
    .collect()
}

#[test]
fn events_are_as_they_are_documented() {
    let documented = documented();
    let mut seen = BTreeSet::new();
    for run in [history(&["--events"]), history(&["--events", "--sitting", "1"])] {
        for event in run.done().events().into_iter().skip(1) {
            let kind = event["kind"].as_str().unwrap().to_owned();
            let mut fields: BTreeSet<String> = event.as_object().unwrap().keys().cloned().collect();
            if kind == "kept-attempt" {
                // Only of a sitting in full.
                fields.insert("notes".to_owned());
            }
            assert_eq!(Some(&fields), documented.get(&kind), "{event}");
            seen.insert(kind);
        }
    }
    assert_eq!(seen, ["kept-attempt", "sitting", "summary"].map(str::to_owned).into());
    let run = history(&["--events", "--sitting", "1"]);
    let attempt = &run.events()[2];
    assert_eq!(attempt["notes"][1]["at_us"], 262_154);
    assert_eq!(attempt["notes"][1]["string"], 5);
    assert_eq!(attempt["began_at"], "2026-03-30T17:41:00.250Z");
}

/// The bundled recordings one after the other, as `listen --timed` takes them.
fn bundled_recordings() -> String {
    let folder = workspace().join("fixtures/performances");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("it").path())
        .collect();
    files.sort();
    let (mut lines, mut start) = (String::new(), 0);
    for file in files.iter().filter(|file| file.extension().is_some_and(|end| end == "mid")) {
        let recording = evenhand::smf::Recording::read(file).expect("a recording");
        for message in &recording.messages {
            let bytes: Vec<String> =
                message.bytes.iter().map(|byte| format!("{byte:02x}")).collect();
            lines += &format!("{} {}\n", start + message.at.as_micros(), bytes.join(" "));
        }
        start += recording.end.as_micros() + 20_000_000;
    }
    lines + &format!("{start}\n")
}

/// What is judged again in this log: then, now, and by how many attempts then.
fn again(data: &str) -> (Vec<(String, String, u64)>, Run) {
    let run = evenhand(&["history", "--data", data, "--again", "--events"]);
    let word = |event: &Value, field: &str| event[field].as_str().expect("a word").to_owned();
    let events = run.done().events();
    let judged = events.iter().filter(|event| event["kind"] == "judged-again");
    let judged = judged.map(|event| {
        let together = event["attempts_together"].as_u64().expect("a number");
        (word(event, "then"), word(event, "now"), together)
    });
    (judged.collect(), evenhand(&["history", "--data", data, "--again"]))
}

/// A log of any version has notes and studies, so its attempts can be judged again.
#[test]
fn attempts_of_old_logs_are_judged_again_and_what_differs_is_told() {
    let folder = Folder::new();
    let (data, study) =
        (folder.path("data"), evenhand_tests::run::bundled("studies/lantern-quay.study"));
    let words = ["listen", &study, "--timed", "-", "--data", &data, "--no-pickup"];
    Run::of(&mut command(&words), bundled_recordings().into_bytes()).done();
    let (now, _) = again(&data);
    assert!(now.len() >= 6, "{now:?}");
    // As version 2 and version 1 of the schema had it.
    for (version, sql) in [
        (2, "DROP TABLE disputes; PRAGMA user_version = 2;"),
        (
            1,
            "DROP TABLE disputes; DROP TABLE steps; DROP INDEX attempts_by_chunk; PRAGMA user_version = 1;",
        ),
    ] {
        kept::open(&data).execute_batch(sql).expect("an older log");
        let (old, told) = again(&data);
        assert_eq!(old, now, "version {version}");
        let same = old.iter().filter(|(then, now, _)| then == now).count();
        let summary = format!("{} attempts judged again: {same} as before", old.len());
        assert!(told.done().out.contains(&summary), "{}", told.out);
        // Judged by themselves they are what they were, but for what attempts say together.
        for (then, now, together) in &old {
            assert!(then == now || *together > 1, "{then}, now {now}\n{}", told.out);
        }
    }
    // A verdict that would be another today.
    kept::open(&data).execute_batch("UPDATE attempts SET verdict = 'passed';").expect("a log");
    let (_, told) = again(&data);
    assert!(told.out.contains("passed then, needs work"), "{}", told.out);
    // What has no study here is counted and not made up.
    let old = Folder::new();
    kept::version_1(&old);
    let (none, told) = again(&old.path(""));
    assert_eq!(none, []);
    assert!(told.out.contains("4 cannot be judged again"), "{}", told.out);
}
