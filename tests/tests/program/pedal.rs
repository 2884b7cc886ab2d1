//! `evenhand pedal` against a pedal on a pseudo-terminal.
#![cfg(target_os = "linux")]

use evenhand_core::limits::PACK_BYTES;
use evenhand_core::link::{Stopped, Troubles};
use evenhand_core::pack::crc32;
use evenhand_tests::kept;
use evenhand_tests::pedal::{Bench, Cable, result, terminals};
use evenhand_tests::run::{Folder, Run, bundled, code, evenhand};
use serde_json::Value;

const QUAY: &str = "studies/lantern-quay.study";

fn pedal(cable: &Cable, folder: &Folder, words: &[&str]) -> Run {
    let data = folder.path("data");
    let more = ["--device", cable.path(), "--data", &data];
    evenhand(&[&["pedal"], words, &more].concat())
}

fn event(run: &Run, kind: &str) -> Value {
    let found = run.events().into_iter().find(|event| event["kind"] == kind);
    found.unwrap_or_else(|| panic!("no {kind} in {run:?}"))
}

/// The hash of the demo study as a number.
fn quay() -> u64 {
    let text = std::fs::read_to_string(bundled(QUAY)).unwrap();
    u64::from_str_radix(&evenhand::log::hash(&text), 16).unwrap()
}

#[test]
fn a_study_goes_onto_the_pedal_and_off_it() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let cable = bench.plug(None);
    let none = pedal(&cable, &folder, &["list"]);
    assert!(none.done().out.contains("No studies."), "{none:?}");
    assert!(none.out.starts_with("test bench, firmware 0.1.0"), "{none:?}");
    let study = bundled(QUAY);
    let loaded = pedal(&cable, &folder, &["load", &study]);
    assert!(loaded.done().out.contains("is on the pedal: "), "{loaded:?}");
    let again = pedal(&cable, &folder, &["load", &study, "--events"]);
    assert_eq!(event(&again, "loaded")["was_there"], true);
    let file = folder.path("quay.pack");
    evenhand(&["pack", &study, "--out", &file]).done();
    assert_eq!(bench.memory(|memory| memory.packs.clone()), [std::fs::read(&file).unwrap()]);
    let same = pedal(&cable, &folder, &["load", &file]);
    assert!(same.done().out.contains("already"), "{same:?}");
    let listed = pedal(&cable, &folder, &["list", "--events"]);
    assert_eq!(event(&listed, "pedal-study")["hash"], format!("{:016x}", quay()));
    assert!(bench.memory(|memory| memory.clock).is_some(), "it was told the time");
    pedal(&cable, &folder, &["remove", "No such"]).refused(code::USAGE, &["no study"]);
    pedal(&cable, &folder, &["remove", &format!("{:016x}", quay())]).done();
    assert!(bench.memory(|memory| memory.packs.is_empty()));
}

#[test]
fn what_has_gone_wrong_with_a_pedal_is_listed() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let cable = bench.plug(None);
    let sound = pedal(&cable, &folder, &["list"]);
    for word in ["could not be kept", "begun anew"] {
        assert!(!sound.done().out.contains(word), "{sound:?}");
    }
    assert_eq!(event(&pedal(&cable, &folder, &["list", "--events"]), "pedal")["lost"], 0);
    let troubles = Troubles { lost: 2, stopped: Stopped::Panicked };
    bench.memory(|memory| memory.troubles = troubles);
    let told = pedal(&cable, &folder, &["list"]);
    assert!(told.done().out.contains("2 results could not be kept"), "{told:?}");
    assert!(told.out.contains("begun anew by itself"), "{told:?}");
    let told = event(&pedal(&cable, &folder, &["list", "--events"]), "pedal");
    assert_eq!((&told["lost"], &told["stopped"]), (&2.into(), &"panicked".into()));
}

#[test]
fn a_list_that_does_not_end_is_left() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let cable = bench.plug(None);
    pedal(&cable, &folder, &["load", &bundled("studies/small.study")]).done();
    let of_them = |many| bench.memory(|memory| memory.packs = vec![memory.packs[0].clone(); many]);
    // As many as the smallest sectors of a large flash are listed.
    of_them(512);
    let all = pedal(&cable, &folder, &["list", "--events"]);
    let studies = all.done().events();
    assert_eq!(studies.iter().filter(|event| event["kind"] == "pedal-study").count(), 512);
    of_them(3_000);
    for words in [&["list"][..], &["remove", "Small steps"]] {
        pedal(&cable, &folder, words)
            .refused(code::PEDAL, &["list of studies does not end", "switch it off and on"]);
    }
}

#[test]
fn a_pulled_cable_is_said_and_the_next_try_goes_on() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let study = bundled(QUAY);
    let cable = bench.plug(Some(3_000));
    pedal(&cable, &folder, &["load", &study]).refused(code::PEDAL, &["the cable", "goes on"]);
    drop(cable);
    let there = bench.memory(|memory| memory.incoming.clone()).unwrap().1.len();
    assert!(there > 1_000, "{there}");
    let cable = bench.plug(None);
    let loaded = pedal(&cable, &folder, &["load", &study, "--events"]);
    assert_eq!(event(loaded.done(), "loaded")["from"], there);
    assert_eq!(bench.memory(|memory| memory.packs.len()), 1);
}

#[test]
fn results_come_into_the_log_once_and_leave_the_pedal_then() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let cable = bench.plug(None);
    pedal(&cable, &folder, &["load", &bundled(QUAY)]).done();
    // Two sittings, the second under way, and one of a study that nobody knows any more.
    let records = [(1, 2, 1, quay()), (2, 2, 2, quay()), (3, 3, 1, quay()), (4, 3, 2, 0xabc)];
    for (number, sitting, attempt, study) in records {
        let (record, played) = result(number, sitting, attempt, study);
        bench.memory(|memory| memory.keep_result(&record, &played));
    }
    let kept_there = pedal(&cable, &folder, &["results", "--keep", "--events"]);
    let fetched = event(kept_there.done(), "fetched");
    assert_eq!((&fetched["new"], &fetched["forgotten"]), (&4.into(), &false.into()));
    assert_eq!(bench.memory(|memory| memory.results.len()), 4);
    let (record, played) = result(5, 3, 3, quay());
    bench.memory(|memory| memory.keep_result(&record, &played));
    let run = pedal(&cable, &folder, &["results", "--for", "pupil-b", "--events"]);
    let fetched = event(run.done(), "fetched");
    assert_eq!((&fetched["new"], &fetched["known"]), (&1.into(), &4.into()));
    assert_eq!((&fetched["forgotten"], &fetched["undated_sittings"]), (&true.into(), &1.into()));
    assert_eq!(bench.memory(|memory| memory.results.len()), 0);
    let nothing = pedal(&cable, &folder, &["results"]);
    assert!(nothing.done().out.contains("nothing to fetch"), "{nothing:?}");

    let log = kept::open(folder.path("data"));
    assert_eq!(kept::integrity(&log), "ok");
    assert_eq!(kept::number(&log, "SELECT count(*) FROM sittings"), 3);
    assert_eq!(kept::number(&log, "SELECT count(*) FROM attempts"), 5);
    let text = "SELECT count(*) FROM studies WHERE length(text) > 100";
    assert_eq!(kept::number(&log, text), 1, "the text came when it was loaded");
    let rings = "SELECT length(notes) FROM attempts WHERE number = 1 ORDER BY id LIMIT 1";
    assert_eq!(kept::number(&log, rings), 50 * 12, "number 1 has fifty notes");
    let finding: String = log
        .query_row("SELECT findings FROM attempts WHERE verdict = 'needs work'", [], |row| {
            row.get(0)
        })
        .unwrap();
    let finding: Value = serde_json::from_str(&finding).unwrap();
    assert_eq!(
        (&finding[0]["what"], &finding[0]["bar"], &finding[0]["beat"], &finding[0]["size"]),
        (&"hesitation".into(), &2.into(), &"3 1/2".into(), &140_000.into())
    );
    let data = folder.path("data");
    let history = evenhand(&["history", "--data", &data]);
    for words in ["Lanterns, one", "study 0000000000000abc", "chunks 1 to 2"] {
        assert!(history.done().out.contains(words), "no “{words}” in {history:?}");
    }
}

#[test]
fn results_are_only_forgotten_when_they_are_safe() {
    let (bench, folder) = (Bench::default(), Folder::new());
    for number in 1..=4 {
        let (record, played) = result(number, 3, number, 1);
        bench.memory(|memory| memory.keep_result(&record, &played));
    }
    // A result of a newer version between the others, and whole.
    bench.memory(|memory| {
        let bytes = memory.results.get_mut(&3).unwrap();
        bytes[0] = 2;
        let checked: Vec<u8> = bytes[..3].iter().chain(&bytes[7..]).copied().collect();
        bytes[3..7].copy_from_slice(&crc32(&checked).to_le_bytes());
    });
    let cable = bench.plug(None);
    let blocked = folder.write("data", "a file where the folder should be");
    pedal(&cable, &folder, &["results"]).refused(code::OUTPUT, &["nothing was taken"]);
    assert_eq!(bench.memory(|memory| memory.results.len()), 4);
    std::fs::remove_file(blocked).unwrap();
    let run = pedal(&cable, &folder, &["results"]);
    run.refused(code::PEDAL, &["result 3", "newer than this program"]);
    assert_eq!(bench.memory(|memory| memory.results.keys().copied().collect::<Vec<_>>()), [3, 4]);
    // Another pedal's memory under the same number.
    bench.memory(|memory| {
        memory.results.clear();
        let (record, played) = result(5, 3, 1, 1);
        memory.keep_result(&record, &played);
    });
    pedal(&cable, &folder, &["results"]).refused(code::PEDAL, &["are not those"]);
    assert_eq!(bench.memory(|memory| memory.results.len()), 1);
}

#[test]
fn what_cannot_be_loaded_is_said() {
    let (bench, folder) = (Bench::default(), Folder::new());
    let cable = bench.plug(None);
    let load = |file: &str| pedal(&cable, &folder, &["load", file]);
    let file = folder.path("quay.pack");
    evenhand(&["pack", &bundled(QUAY), "--out", &file]).done();
    let whole = std::fs::read(&file).unwrap();
    let write = |name: &str, change: &dyn Fn(&mut Vec<u8>)| {
        let mut bytes = whole.clone();
        change(&mut bytes);
        folder.write(name, bytes)
    };
    load(&write("bit.pack", &|b| b[100] ^= 1)).refused(code::INPUT, &["damaged"]);
    load(&write("cut.pack", &|b| b.truncate(500))).refused(code::INPUT, &["500 of"]);
    load(&write("long.pack", &|b| b.push(0))).refused(code::INPUT, &["1 bytes follow"]);
    load(&write("other.pack", &|b| b[0] = b'X')).refused(code::INPUT, &["no pack"]);
    let newer = write("new.pack", &|b| {
        b[8] = 9;
        let checksum = crc32(&b[8..]).to_le_bytes();
        b[4..8].copy_from_slice(&checksum);
    });
    load(&newer).refused(code::INPUT, &["version 9"]);
    load(&folder.write("huge.pack", vec![0; PACK_BYTES + 1])).refused(code::INPUT, &["larger"]);
    load(&folder.path("none.study")).refused(code::INPUT, &["cannot read"]);
    load(&bundled("damaged/typos.study")).refused(code::STUDY, &["problems"]);
    bench.memory(|memory| memory.room = 1_000);
    load(&file).refused(code::PEDAL, &["no room", "remove"]);
    assert!(bench.memory(|memory| memory.packs.is_empty() && memory.incoming.is_none()));
}

#[test]
fn no_pedal_is_told_from_a_wrong_device() {
    let folder = Folder::new();
    let at = |path: &str| evenhand(&["pedal", "list", "--device", path]);
    at(&folder.path("none")).refused(code::PEDAL, &["cannot open", "plugged in"]);
    at(&folder.write("file", "text")).refused(code::PEDAL, &["serial device"]);
    // A pseudo-terminal at whose other end nobody answers.
    let (_end, path, _line) = terminals();
    at(&path).refused(code::PEDAL, &["nothing answers", "switched on"]);
}
