//! The event stream keeps the contract of `docs/events.md`.

use evenhand::smf::{Recording, Timed, write};
use evenhand::study::Prepared;
use evenhand_core::study::Marks;
use evenhand_core::units::Offset;
use evenhand_tests::passage;
use evenhand_tests::performances::{chunks, takes};
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, bundled, evenhand};
use evenhand_tests::timed::Stream;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// The fields of each record, and of a finding, from the tables of the page.
fn documented() -> (BTreeMap<String, BTreeSet<String>>, BTreeSet<String>) {
    let page = std::fs::read_to_string(workspace().join("docs/events.md")).expect("it is there");
    let names = |cell: &str| -> BTreeSet<String> {
        cell.split('`').skip(1).step_by(2).map(str::to_owned).collect()
    };
    let rows = |from: &str| -> Vec<Vec<BTreeSet<String>>> {
        let table = page.split_once(from).expect("the table is there").1;
        let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
        rows.map(|line| line.split('|').skip(1).map(names).collect()).collect()
    };
    let records = rows("| kind | fields | when |").into_iter().map(|row| {
        let kind = row[0].first().expect("a kind").clone();
        let fields = row[1].iter().cloned().chain(["kind".to_owned()]).collect();
        (kind, fields)
    });
    let finding = rows("| field | meaning |").into_iter().flat_map(|row| row[0].clone());
    (records.collect(), finding.collect())
}

fn kind(event: &Value) -> &str {
    event["kind"].as_str().expect("every record has a kind")
}

fn number(event: &Value, field: &str) -> u64 {
    event[field].as_u64().unwrap_or_else(|| panic!("no number `{field}` in {event}"))
}

/// A recording with everything that can happen: one take after another, with notes struck
/// twice, notes of nowhere and a broken-off attempt among them.
fn eventful() -> (Recording, Vec<u8>) {
    let mut all: Vec<Timed> = Vec::new();
    let mut from = 0;
    for take in takes() {
        let path = bundled(&format!("performances/{}.mid", take.file));
        let recording = Recording::read(path.as_ref()).expect("it is bundled");
        let later = Offset::from_micros(from);
        all.extend(recording.messages.into_iter().enumerate().flat_map(|(index, message)| {
            let at = message.at.plus(later);
            let stray = Timed {
                at: at.plus(Offset::from_millis(130)),
                bytes: vec![0x95, 41, 70],
                begins: Some((5, 41)),
            };
            let is_stray = index == 8 && take.file == "barre-missing-note";
            [Some(Timed { at, ..message }), is_stray.then_some(stray)].into_iter().flatten()
        }));
        let end = all.last().expect("it holds notes").at;
        from = i32::try_from(end.as_micros()).expect("minutes") + 3_000_000;
    }
    all.sort_by_key(|message| message.at);
    let file = write::file(&all, "everything");
    let recording = Recording::from_bytes(&file, "everything").expect("it was just written");
    (recording, file)
}

/// What is practised, as `listen` hears it.
const PRACTISED: &str = "evenhand study 1
title   Two turns
metre   4/4
tempo   92

chunk \"Out\" at bar 1
  melody: 1/8 5:0 4:2 3:2 2:1 1:0 2:1 3:2 2:3 |

chunk \"Home\" at bar 2
  melody: 1/8 6:3 4:0 3:0 2:0 2:3 1:3 1:1 1:0 |
";

/// A false start, a chunk with a return, and a part that is looped.
fn practised() -> Stream {
    let chunks = passage::study(PRACTISED);
    let mut stream = Stream::new(5);
    stream.part(&chunks[1], 0..4, &[]);
    stream.rest(900);
    stream.part(&chunks[0], 0..6, &[]);
    stream.part(&chunks[0], 3..8, &[]);
    stream.rest(2_500);
    for _ in 0..3 {
        stream.part(&chunks[1], 2..7, &[]);
    }
    stream
}

/// What `listen` says of that, but for the summary in the end: the log's page has it.
fn listened() -> Vec<Value> {
    let folder = Folder::new();
    let study = folder.write("turns.study", PRACTISED);
    let lines = folder.write("practised.txt", practised().lines());
    let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--no-log", "--events"];
    let events = evenhand(&words).done().events();
    events.into_iter().filter(|event| kind(event) != "summary").collect()
}

/// The events of a recording of everything, of the demo, and of recordings of nothing.
fn runs() -> Vec<Vec<Value>> {
    let folder = Folder::new();
    let study = bundled("studies/lantern-quay.study");
    let everything = folder.write("everything.mid", eventful().1);
    let silent = folder.write("silent.mid", write::file(&[], "silence"));
    let small = bundled("studies/small.study");
    let good = bundled("performances/bells-one-clean.mid");
    [
        vec!["demo", "--events"],
        vec!["judge", &study, &everything, "--events"],
        vec!["judge", &study, &silent, &good, "--events", "--channels", "one"],
        vec!["judge", &small, &good, "--events"],
        vec!["judge", "--expected", &good, "--played", &everything, "--events"],
        vec!["judge", "--expected", &good, "--played", &silent, "--events"],
    ]
    .into_iter()
    .map(|arguments| evenhand(&arguments).done().events())
    .chain([listened()])
    .collect()
}

#[test]
fn every_record_has_the_documented_fields_and_no_other() {
    let (records, finding) = documented();
    let fields = |value: &Value| -> BTreeSet<String> {
        value.as_object().expect("an object").keys().cloned().collect()
    };
    let mut seen = BTreeSet::new();
    for events in runs() {
        assert_eq!((kind(&events[0]), number(&events[0], "version")), ("stream", 1));
        for (index, event) in events.iter().enumerate() {
            let documented = records.get(kind(event)).unwrap_or_else(|| panic!("unknown: {event}"));
            assert_eq!(fields(event), *documented, "{event}");
            assert_eq!(kind(event) == "stream", index == 0, "{event}");
            seen.insert(kind(event).to_owned());
            for found in event["findings"].as_array().into_iter().flatten() {
                assert_eq!(fields(found), finding, "{event}");
                let unit = found["unit"].as_str();
                assert!(
                    ["notes", "us", "0.01 dB", "per mille"].map(Some).contains(&unit),
                    "{event}"
                );
            }
            if kind(event) == "extra" {
                let causes = [
                    "double-trigger",
                    "correction",
                    "mistracked",
                    "ghost",
                    "trailing",
                    "blip",
                    "stale",
                ];
                let others = ["vibrato", "slide", "bend", "repeated", "stray"];
                let causes = [&causes[..], &others[..]].concat();
                assert!(
                    event["cause"].as_str().is_some_and(|cause| causes.contains(&cause)),
                    "{event}"
                );
            }
        }
    }
    let all: BTreeSet<String> = records.keys().cloned().collect();
    assert_eq!(seen, all, "a record that these runs never show is not tested");
}

/// What was practised is in the stream in its order: a false start, an attempt with a return, which
/// lacks what was replaced, and a part three times.
#[test]
fn practice_is_told_as_it_is_documented() {
    let events = listened();
    let told = |wanted: &'static str| events.iter().filter(move |event| kind(event) == wanted);
    let [start] = told("false-start").collect::<Vec<_>>()[..] else { panic!("{events:#?}") };
    assert_eq!((&start["chunk"], number(start, "played_notes")), (&"Home".into(), 4));
    assert_eq!((number(start, "bar"), &start["beat"]), (2, &"3".into()));
    assert_eq!(kind(&events[1]), "false-start", "before what came after it");
    let attempts: Vec<&Value> = told("attempt").collect();
    let parts: Vec<Option<&str>> =
        attempts.iter().map(|attempt| attempt["part_of"].as_str()).collect();
    assert_eq!(parts, [None, Some("Home"), Some("Home"), Some("Home")]);
    assert_eq!(number(attempts[0], "played_notes"), 8, "what counts, of eleven notes");
    assert_eq!(number(attempts[1], "expected_notes"), 5, "those of the part");
    let verdict = told("verdict").next().expect("a verdict");
    let found = verdict["findings"].as_array().expect("a list");
    let [found] = &found[..] else { panic!("{verdict}") };
    assert_eq!((&found["what"], &found["unit"]), (&"return".into(), &"notes".into()));
    assert_eq!((number(found, "count"), number(found, "size")), (1, 3));
    assert_eq!((number(found, "bar"), &found["beat"]), (1, &"4".into()));
}

/// The records of each attempt, from its first to its verdict.
fn attempts(events: &[Value]) -> Vec<&[Value]> {
    let about = |event: &Value| event.get("attempt").and_then(Value::as_u64);
    let runs = events.chunk_by(|a, b| about(a) == about(b));
    runs.filter(|records| about(&records[0]).is_some()).collect()
}

#[test]
fn attempts_are_numbered_over_the_run_and_come_whole_and_in_order() {
    for events in runs() {
        for (index, records) in attempts(&events).into_iter().enumerate() {
            assert!(records.iter().all(|record| number(record, "attempt") == index as u64 + 1));
            let [head, middle @ .., verdict] = records else { panic!("{records:?}") };
            assert_eq!((kind(head), kind(verdict)), ("attempt", "verdict"));
            assert_eq!(head["chunk"], verdict["chunk"]);
            let by_expected = |event: &&Value| ["pair", "wrong", "missing"].contains(&kind(event));
            let split = middle.iter().take_while(by_expected).count();
            assert!(middle[..split].is_sorted_by_key(|event| number(event, "expected")));
            let by_played = |event: &&Value| ["extra", "trill"].contains(&kind(event));
            let last = split + middle[split..].iter().take_while(by_played).count();
            assert!(middle[split..last].is_sorted_by_key(|event| number(event, "played")));
            assert!(middle[last..].is_sorted_by_key(|event| number(event, "expected")));
            assert!(middle[last..].iter().all(|event| kind(event) == "trill-played"));
        }
    }
}

/// The notes of a chunk in the documented order, told independently of the program's: by onset,
/// then pitch, then string.
fn in_order(chunk: &Prepared) -> Vec<(u32, u8, u8, bool)> {
    let mut notes: Vec<_> = chunk
        .notes
        .iter()
        .map(|note| {
            let string = note.string.map_or(0, |string| string.number());
            let landing = note.marks.has(Marks::LANDING);
            (note.onset.get(), note.pitch.number(), string, landing)
        })
        .collect();
    notes.sort_unstable();
    notes
}

#[test]
fn every_expected_note_has_one_record_unless_the_landing_was_not_reached() {
    let chunks = chunks();
    let mut landings_not_reached = 0;
    for events in &runs()[..2] {
        for records in attempts(events) {
            let chunk = chunks.iter().find(|chunk| records[0]["chunk"] == chunk.name);
            let notes = in_order(chunk.expect("a chunk of the study"));
            assert_eq!(number(&records[0], "expected_notes"), notes.len() as u64);
            let mut told = vec![0; notes.len()];
            for record in records {
                let pitch = match kind(record) {
                    "pair" | "missing" => "pitch",
                    "wrong" => "expected_pitch",
                    _ => continue,
                };
                let note = number(record, "expected") as usize;
                told[note] += 1;
                let (_, wanted, string, _) = notes[note];
                assert_eq!(number(record, pitch), u64::from(wanted), "{record}");
                if kind(record) == "pair" {
                    assert_eq!(number(record, "string"), u64::from(string), "{record}");
                }
            }
            let landing = notes.iter().filter(|note| note.3).count();
            let untold = told.iter().filter(|&&times| times == 0).count();
            for (note, times) in notes.iter().zip(&told) {
                let may_be_untold = note.3 && untold <= landing;
                assert!(*times == 1 || (*times == 0 && may_be_untold), "{note:?}: {records:#?}");
            }
            landings_not_reached += usize::from(untold > 0);
        }
    }
    assert!(landings_not_reached > 0, "the broken-off take has none");
}

/// `played` is the number of a note-on of the recording: of one that the attempt holds, each
/// once, and over all attempts none twice.
#[test]
fn every_played_note_has_one_record_with_its_number_in_the_recording() {
    let (recording, _) = eventful();
    let pitches: Vec<u8> = recording.notes().map(|(_, pitch)| pitch).collect();
    let runs = runs();
    for (events, attempts_in_it) in [(&runs[1], takes().len()), (&runs[4], 1)] {
        let mut told = BTreeSet::new();
        let attempts = attempts(events);
        assert_eq!(attempts.len(), attempts_in_it);
        for records in attempts {
            let played: BTreeMap<u64, u64> = records
                .iter()
                .filter(|record| ["pair", "wrong", "extra", "trill"].contains(&kind(record)))
                .map(|record| (number(record, "played"), number(record, "pitch")))
                .collect();
            assert_eq!(played.len() as u64, number(&records[0], "played_notes"));
            // Nothing in the middle of an attempt is left out.
            let (first, last) = (played.keys().next(), played.keys().next_back());
            let (first, last) = (*first.expect("a note"), *last.expect("a note"));
            assert_eq!(last - first + 1, played.len() as u64, "{records:#?}");
            for (note, pitch) in played {
                assert!(told.insert(note), "note {note} is told twice");
                assert_eq!(u64::from(pitches[note as usize]), pitch, "note {note}");
            }
        }
        if attempts_in_it == 1 {
            assert_eq!(told.len(), pitches.len(), "all of it is the attempt");
        }
    }
}

#[test]
fn notes_on_channels_of_no_string_are_counted_and_not_judged() {
    let folder = Folder::new();
    let path = bundled("performances/bells-one-clean.mid");
    let once = Recording::read(path.as_ref()).expect("it is bundled");
    // Before each note one on the last channel, far from the strings.
    let messages: Vec<Timed> = once
        .messages
        .iter()
        .flat_map(|message| {
            let other = message.begins.map(|(_, pitch)| Timed {
                at: message.at,
                bytes: vec![0x9f, 30, 100],
                begins: Some((15, pitch)),
            });
            other.into_iter().chain([message.clone()])
        })
        .collect();
    let mixed = folder.write("mixed.mid", write::file(&messages, "two instruments"));
    let study = bundled("studies/lantern-quay.study");
    let run = evenhand(&["judge", &study, &mixed, "--events", "--channels", "string"]);
    let events = run.done().events();
    let pairs: Vec<&Value> = events.iter().filter(|event| kind(event) == "pair").collect();
    assert_eq!(pairs.len(), once.notes().count(), "{run:?}");
    let numbers: BTreeSet<u64> = pairs.iter().map(|pair| number(pair, "played")).collect();
    assert!(numbers.into_iter().eq((0..pairs.len() as u64).map(|note| note * 2 + 1)), "{run:?}");
}
