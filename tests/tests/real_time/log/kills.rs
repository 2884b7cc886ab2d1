//! The program is killed in the middle of everything.

use evenhand::log::unpack;
use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, NOTES, study};
use evenhand_tests::run::{Folder, command};
use evenhand_tests::seeded::Seeded;
use serde_json::Value;
use std::fs::OpenOptions;
use std::io::Read;
use std::process::Command;
use std::thread;
use std::time::Duration;

/// Twenty times, all into the same log: it stays sound, and everything is in it that was said.
#[test]
fn what_was_said_is_kept_after_every_kill() {
    let folder = Folder::new();
    let data = folder.path("data");
    let mut said_in_all = 0;
    for seed in 0..20 {
        let fifo = folder.path(&format!("pickup-{seed}"));
        assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
        let mut child = command(&["listen", &study(), "--raw", &fifo, "--events", "--data", &data])
            .spawn()
            .unwrap();
        let mut out = child.stdout.take().unwrap();
        let said = thread::spawn(move || {
            let mut text = Vec::new();
            out.read_to_end(&mut text).unwrap();
            text
        });
        // It opens when the program has opened its end.
        let mut to = OpenOptions::new().write(true).open(&fifo).unwrap();
        let player = thread::spawn(move || {
            let mut player = Looping::new(seed, Duration::from_millis(1));
            while player.attempt(&mut to).is_ok() {}
        });
        let moment = Seeded::new(1_000 + seed).between(30_000, 400_000);
        thread::sleep(Duration::from_micros(moment as u64));
        child.kill().unwrap();
        child.wait().unwrap();
        player.join().unwrap();
        let said = said.join().unwrap();
        // What follows the last line feed was cut off.
        let end = said.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let said = String::from_utf8(said[..end].to_vec()).unwrap();
        let verdicts: Vec<Value> = said
            .lines()
            .map(|line| serde_json::from_str::<Value>(line).unwrap())
            .filter(|event| event["kind"] == "verdict")
            .collect();
        said_in_all += verdicts.len();
        if std::path::Path::new(&data).join("log.sqlite").exists() {
            check(&data, &verdicts, seed);
        } else {
            assert_eq!(verdicts.len(), 0);
        }
    }
    // Otherwise nothing was tested.
    assert!(said_in_all > 60, "{said_in_all} verdicts in all");
}

/// The log is sound, and its last sitting holds these verdicts, and one more at most.
fn check(data: &str, verdicts: &[Value], seed: u64) {
    let log = kept::open(data);
    assert_eq!(kept::integrity(&log), "ok", "seed {seed}");
    let mut rows = log
        .prepare(
            "SELECT number, verdict, findings, notes FROM attempts \
             WHERE sitting = (SELECT max(id) FROM sittings) ORDER BY number",
        )
        .unwrap();
    let kept: Vec<(i64, String, String, Vec<u8>)> = rows
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    if verdicts.is_empty() {
        // The last sitting is an earlier one, or holds the one attempt that was not said yet.
        return;
    }
    let more = kept.len() as i64 - verdicts.len() as i64;
    assert!((0..=1).contains(&more), "seed {seed}: {} said, {} kept", verdicts.len(), kept.len());
    for (index, (number, verdict, findings, notes)) in kept.iter().enumerate() {
        assert_eq!(*number, index as i64 + 1);
        let notes = unpack(notes).expect("notes");
        assert!(notes.len() >= NOTES - 1 && notes[0].at_us == 0, "{notes:?}");
        let findings: Value = serde_json::from_str(findings).expect("a list");
        if let Some(said) = verdicts.get(index) {
            assert_eq!(
                (&said["verdict"], &said["findings"]),
                (&Value::from(verdict.as_str()), &findings)
            );
        }
    }
}
