//! What is asked for and is not there, and what the pages promise of it.

use evenhand_tests::kept;
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, bundled, code, command, evenhand};
use std::collections::BTreeSet;
use std::fs;

fn page(name: &str) -> String {
    fs::read_to_string(workspace().join("docs").join(name)).expect("a page")
}

#[test]
fn history_says_what_is_not_in_the_log() {
    let folder = Folder::new();
    kept::version_1(&folder);
    let data = folder.path("");
    let history = |more: &[&str]| evenhand(&[&["history", "--data", &data], more].concat());
    for (more, what, known) in [
        (["--study", "Noon"], "no study “Noon” is in the log", "Eight Steps"),
        (["--chunk", "Nine steps"], "no chunk “Nine steps” is in the log", "Eight steps"),
        (["--for", "pupil-b"], "no player “pupil-b” is in the log", "pupil-a"),
        (["--sitting", "77"], "no sitting 77 is in the log", "1, 2"),
    ] {
        history(&more).refused(code::USAGE, &[what, known]);
        assert_eq!(history(&[&more[..], &["--events"]].concat()).code, code::USAGE);
    }
    // What is there, but not together, is a question that has an answer.
    let run = history(&["--study", "Quay", "--for", "pupil-a"]);
    assert!(run.done().out.starts_with("Nothing like this has been kept."), "{run:?}");
    let nowhere = folder.path("no-such-folder");
    let run = evenhand(&["history", "--data", &nowhere]);
    run.refused(code::INPUT, &["there is no folder", "no-such-folder"]);
    // A folder in which nothing has been kept yet is no mistake.
    let empty = Folder::new();
    let run = evenhand(&["history", "--data", &empty.path("")]);
    assert!(run.done().out.starts_with("Nothing has been kept yet."), "{run:?}");
    let run = evenhand(&["history", "--data", &empty.path(""), "--chunk", "A"]);
    run.refused(code::USAGE, &["no chunk “A”", "kept in it yet"]);
}

#[test]
fn sound_that_is_asked_for_cannot_go_with_a_stream_that_tells_the_time() {
    let (folder, study) = (Folder::new(), bundled("studies/small.study"));
    let stream = folder.write("stream.txt", "1000000\n");
    let words = ["practice", &study, "--timed", &stream, "--no-log"];
    for sound in [&["--sound", "audio"][..], &["--sound", "midi"], &["--sound-port", "drums"]] {
        evenhand(&[&words[..], sound].concat()).refused(code::LIVE, &["--timed", "--sound none"]);
    }
    for sound in [&[][..], &["--sound", "none"]] {
        evenhand(&[&words[..], sound].concat()).done();
    }
}

#[test]
fn everything_that_the_doctor_looks_at_stands_on_its_page() {
    let folder = Folder::new();
    kept::version_1(&folder);
    let study = bundled("studies/small.study");
    let mut doctor = command(&["doctor", "--events", &study]);
    doctor.env("EVENHAND_DATA", folder.path(""));
    let run = evenhand_tests::run::Run::of(&mut doctor, Vec::new());
    let events = run.events();
    let seen: BTreeSet<&str> = events.iter().filter_map(|event| event["what"].as_str()).collect();
    assert!(seen.contains("log") && seen.contains("study"), "{seen:?}");
    let page = page("events.md");
    let row =
        page.lines().find(|line| line.starts_with("| `what` | `midi-system`")).expect("a row");
    for what in seen {
        assert!(row.contains(&format!("`{what}`")), "{what} is not in {row}");
    }
}

#[test]
fn the_page_of_the_log_tells_all_that_practice_keeps() {
    let (folder, study) = (Folder::new(), bundled("studies/small.study"));
    // One attempt, so that there is a sitting.
    let take = folder.path("take.mid");
    evenhand(&["study", "play", &study, &take]).done();
    let recorded = evenhand::smf::Recording::read(take.as_ref()).expect("a recording");
    let line = |message: &evenhand::smf::Timed| {
        let bytes: Vec<String> = message.bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        format!("{} {}\n", message.at.as_micros(), bytes.join(" "))
    };
    let mut stream: String = recorded.messages.iter().map(line).collect();
    stream += &format!("{}\n", recorded.end.as_micros() + 20_000_000);
    let stream = folder.write("stream.txt", stream);
    let data = folder.path("data");
    evenhand(&["practice", &study, "--timed", &stream, "--data", &data, "--free"]).done();
    let log = rusqlite::Connection::open(folder.as_ref().join("data/log.sqlite")).unwrap();
    let mut steps = log.prepare("SELECT step, details FROM steps").unwrap();
    let steps: Vec<(String, String)> = steps
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert!(!steps.is_empty(), "practice keeps its steps");
    let (log_page, events) = (page("log-schema.md"), page("events.md"));
    assert!(log_page.contains("One run of `evenhand listen` or `evenhand practice`"));
    for (step, details) in steps {
        assert!(page("practice.md").contains(&format!("`{step}`")), "{step}");
        let details: serde_json::Value = serde_json::from_str(&details).unwrap();
        for field in details.as_object().unwrap().keys().filter(|field| *field != "kind") {
            let row = events.lines().find(|line| line.starts_with("| `step` |")).expect("a row");
            assert!(row.contains(&format!("`{field}`")), "{field} is not in {row}");
        }
    }
}

/// Every reason that practice may give stands on its page.
#[test]
fn every_reason_stands_on_the_page_of_practice() {
    let source = workspace().join("core/src/practice/step.rs");
    let source = fs::read_to_string(source).expect("the source");
    let reasons = source.split("pub enum Reason {").nth(1).expect("the reasons");
    let reasons = reasons.split("\n}").next().expect("their end");
    let named = reasons.lines().filter_map(|line| line.strip_prefix("    "));
    let named = named.filter(|line| line.starts_with(char::is_uppercase));
    let mut count = 0;
    for name in named.map(|line| line.split([' ', '(', ',']).next().unwrap_or_default()) {
        let mut word = String::new();
        for letter in name.chars() {
            if letter.is_uppercase() && !word.is_empty() {
                word.push('-');
            }
            word.extend(letter.to_lowercase());
        }
        assert!(page("practice.md").contains(&format!("| `{word}` | ")), "{word}");
        count += 1;
    }
    assert!(count > 15, "{count}");
}
