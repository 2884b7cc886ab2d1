//! What is due today, from a log that the program itself has written, days ago.

use evenhand_tests::kept;
use evenhand_tests::run::{Folder, Run, code, command, evenhand};
use evenhand_tests::seeded::Seeded;
use rusqlite::Connection;
use serde_json::Value;
use std::fmt::Write as _;

const STUDY: &str = "evenhand study 1\ntitle \"Ferry steps\"\nmetre 4/4\ntempo 140\nlevel first\n\
    chunk \"Quick\" at bar 1\n  m: 1/8 5:0 5:2 5:3 4:0 4:2 4:3 3:0 3:2 |\n\
    chunk \"Slow\" at bar 2\n  m: 1/8 3:2 3:0 4:3 4:2 4:0 5:3 5:2 5:0 |\n";

const PITCHES: [u8; 8] = [45, 47, 48, 50, 52, 53, 55, 57];

/// The first chunk at about 150 a minute, three times: at its goal.
fn played() -> Vec<u8> {
    let (mut lines, mut now, mut seeded) = (String::new(), 500_u64, Seeded::new(5));
    for _ in 0..3 {
        for pitch in PITCHES {
            let velocity = seeded.between(78, 84) as u8;
            writeln!(lines, "{now}000 90 {pitch:02x} {velocity:02x}").unwrap();
            writeln!(lines, "{}000 80 {pitch:02x} 40", now + 190).unwrap();
            now += 200;
        }
        now += 1_500;
        writeln!(lines, "{now}000").unwrap();
    }
    lines.into_bytes()
}

/// Everything in the log was so many days earlier.
fn earlier(log: &Connection, days: u32) {
    for (table, column) in
        [("sittings", "began_at"), ("sittings", "ended_at"), ("attempts", "began_at")]
    {
        let sql = format!(
            "UPDATE {table} SET {column} = strftime('%Y-%m-%dT%H:%M:%SZ', {column}, '-{days} days')"
        );
        log.execute(&sql, []).expect("a column of times");
    }
}

/// What is due, as `name reason`.
fn due(studies: &str, data: &str, more: &[&str]) -> Vec<String> {
    let run = evenhand(&[&["today", studies, "--data", data, "--events"], more].concat());
    let of = |event: &Value, name: &str| event[name].as_str().unwrap_or_default().to_owned();
    let events = run.done().events();
    let due = events.iter().filter(|event| event["kind"] == "due");
    due.map(|due| format!("{} {}", of(due, "piece"), of(due, "reason"))).collect()
}

#[test]
fn what_was_played_comes_back_after_growing_gaps_and_what_is_new_waits_its_turn() {
    let folder = Folder::new();
    let studies = folder.path("studies");
    std::fs::create_dir(&studies).expect("room for it");
    let study = folder.write("studies/ferry.study", STUDY);
    let data = folder.path("data");
    assert_eq!(due(&studies, &data, &[]), ["Quick new", "Slow new"]);

    let words = ["practice", &study, "--chunk", "quick", "--timed", "-", "--data", &data];
    Run::of(&mut command(&words), played()).done();
    // It was played today; tomorrow it is looked for whether it is still there, and so on.
    assert_eq!(due(&studies, &data, &[]), ["Slow new"]);
    let log = kept::open(&data);
    earlier(&log, 1);
    assert_eq!(due(&studies, &data, &[]), ["Quick keep", "Slow new"]);
    let told = evenhand(&["today", &studies, "--data", &data]);
    let out = &told.done().out;
    assert!(
        out.contains("“Quick”: at its goal, 140, since yesterday: is it still there?"),
        "{out}"
    );
    let next = format!("evenhand practice {study} --chunk Quick --chunk Slow");
    assert!(out.contains(&next), "{out}");
    // Another player has played nothing.
    assert_eq!(due(&studies, &data, &["--for", "Somebody"]), ["Quick new", "Slow new"]);
    Run::of(&mut command(&words), played()).done();
    earlier(&log, 1);
    assert_eq!(due(&studies, &data, &[]), ["Slow new"], "its next day is the one after tomorrow");
    earlier(&log, 1);
    assert_eq!(due(&studies, &data, &[]), ["Quick keep", "Slow new"]);
}

#[test]
fn what_cannot_be_read_is_told() {
    let folder = Folder::new();
    let (studies, data) = (folder.path("studies"), folder.path("data"));
    let run = evenhand(&["today", &studies, "--data", &data]);
    assert_eq!(run.code, code::INPUT);
    std::fs::create_dir(&studies).expect("room for it");
    let run = evenhand(&["today", &studies, "--data", &data]);
    assert_eq!(run.code, code::INPUT);
    assert!(
        run.err.contains("there is no study in") && run.err.contains("study new"),
        "{}",
        run.err
    );
    folder.write("studies/a.study", STUDY);
    folder.write("studies/b.study", "evenhand study 1\nchunk\n");
    let run = evenhand(&["today", &studies, "--data", &data]);
    assert_eq!(run.code, code::DONE);
    assert!(run.err.contains("b.study is left out"), "{}", run.err);
    std::fs::create_dir(&data).expect("room for it");
    folder.write("data/log.sqlite", "no log");
    let run = evenhand(&["today", &studies, "--data", &data]);
    assert!(run.code == code::INPUT || run.code == code::DONE, "{}", run.err);
}
