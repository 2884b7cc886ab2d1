//! Logs of older and newer programs, and files that are no logs.

use evenhand::log::{FILE, VERSION};
use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, study};
use evenhand_tests::run::{Folder, Run, code, command, evenhand};
use rusqlite::Connection;
use std::time::Duration;

/// Three attempts at once.
fn played() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut player = Looping::new(5, Duration::ZERO);
    for _ in 0..3 {
        player.attempt(&mut bytes).unwrap();
    }
    bytes
}

fn listen(data: &str) -> Run {
    let mut command = command(&["listen", &study(), "--raw", "-", "--events", "--data", data]);
    Run::of(&mut command, played())
}

/// Every table and index, as SQLite keeps its definition.
fn schema(log: &Connection) -> Vec<(String, String)> {
    let mut all = log
        .prepare("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name")
        .unwrap();
    let rows = all.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    rows.map(Result::unwrap).collect()
}

#[test]
fn a_log_of_version_1_is_read_and_goes_on() {
    let (old, new) = (Folder::new(), Folder::new());
    kept::version_1(&old);
    let run = evenhand(&["history", "--events", "--data", &old.path("")]);
    let events = run.done().events();
    let attempts: Vec<_> = events.iter().filter(|event| event["kind"] == "kept-attempt").collect();
    assert_eq!(attempts.len(), 4);
    assert_eq!(attempts[0]["verdict"], "needs work");
    assert_eq!(attempts[0]["findings"][0]["what"], "weak-slurs");
    listen(&old.path("")).done();
    listen(&new.path("")).done();
    let (old, new) = (kept::open(&old), kept::open(&new));
    for log in [&old, &new] {
        assert_eq!(kept::number(log, "PRAGMA user_version"), i64::from(VERSION));
        assert_eq!(kept::integrity(log), "ok");
    }
    assert_eq!(kept::number(&old, "SELECT count(*) FROM attempts"), 4 + 3);
    // A log that was brought here and one that was begun here are the same.
    assert_eq!(schema(&old), schema(&new));
}

#[test]
fn a_log_of_version_2_is_read_and_goes_on() {
    let (old, new) = (Folder::new(), Folder::new());
    kept::version_2(&old);
    let run = evenhand(&["history", "--events", "--data", &old.path("")]);
    let events = run.done().events();
    let attempts: Vec<_> = events.iter().filter(|event| event["kind"] == "kept-attempt").collect();
    assert_eq!(attempts.len(), 1);
    assert_eq!(
        (&attempts[0]["verdict"], &attempts[0]["disputed"]),
        (&"needs work".into(), &false.into())
    );
    listen(&old.path("")).done();
    listen(&new.path("")).done();
    let (old, new) = (kept::open(&old), kept::open(&new));
    assert_eq!(kept::number(&old, "PRAGMA user_version"), i64::from(VERSION));
    assert_eq!(kept::integrity(&old), "ok");
    let count = |table| kept::number(&old, &format!("SELECT count(*) FROM {table}"));
    assert_eq!(["attempts", "steps", "disputes"].map(count), [1 + 3, 2, 0]);
    assert_eq!(schema(&old), schema(&new));
}

#[test]
fn a_log_of_a_newer_program_is_left_alone() {
    let folder = Folder::new();
    kept::version_1(&folder);
    kept::open(&folder).pragma_update(None, "user_version", 4_000).unwrap();
    left_alone(&folder, &["newer program", "version 4000", "Use the newer program"]);
}

#[test]
fn another_programs_file_is_left_alone() {
    let folder = Folder::new();
    let other = Connection::open(folder.path(FILE)).unwrap();
    other.execute_batch("CREATE TABLE recipes (soup TEXT)").unwrap();
    drop(other);
    left_alone(&folder, &["not a log of this program", "Move that log.sqlite away"]);
}

#[test]
fn a_damaged_log_is_told_and_left_alone() {
    let damages: [fn(&mut Vec<u8>); 4] = [
        |whole| whole[..100].fill(0xa5),
        |whole| whole[4_096..].fill(0xa5),
        |whole| whole.truncate(6_000),
        |whole| *whole = b"This is no log at all; it is a text that somebody wrote.".repeat(99),
    ];
    for damage in damages {
        let folder = Folder::new();
        listen(&folder.path("")).done();
        let mut content = std::fs::read(folder.path(FILE)).unwrap();
        damage(&mut content);
        folder.write(FILE, &content);
        left_alone(&folder, &["it is damaged", "from a backup"]);
    }
}

/// History refuses the log with these words; listening says them, judges, and tells in the end
/// what is lost. The file stays as it is.
fn left_alone(folder: &Folder, words: &[&str]) {
    let before = std::fs::read(folder.path(FILE)).unwrap();
    evenhand(&["history", "--data", &folder.path("")]).refused(code::INPUT, words);
    let run = listen(&folder.path(""));
    run.refused(code::OUTPUT, words).refused(
        code::OUTPUT,
        &["is not kept", "Practice goes on", "3 attempts could not be kept in the log"],
    );
    assert_eq!(run.err.matches("is not kept").count(), 1, "it is told once: {}", run.err);
    assert_eq!(run.verdicts().len(), 3);
    let logs: Vec<_> = run.events().into_iter().filter(|event| event["kind"] == "log").collect();
    assert_eq!(logs.len(), 2, "{logs:?}");
    assert_eq!((&logs[0]["kept"], &logs[1]["unwritten"]), (&false.into(), &3.into()));
    assert_eq!(std::fs::read(folder.path(FILE)).unwrap(), before, "it was written to");
}
