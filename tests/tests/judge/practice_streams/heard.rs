//! What the program says of a stream.

use evenhand_tests::run::{Folder, evenhand};
use evenhand_tests::timed::Stream;
use serde_json::Value;

/// What was found in an attempt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Found {
    pub(crate) what: String,
    pub(crate) bearing: String,
    /// The bar, and the beat as the stream writes it.
    pub(crate) place: Option<(u64, String)>,
    pub(crate) count: u64,
    pub(crate) size: i64,
}

/// An attempt that was told.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    pub(crate) chunk: String,
    pub(crate) part_of: Option<String>,
    pub(crate) outcome: String,
    pub(crate) findings: Vec<Found>,
    pub(crate) at_us: u64,
}

impl Told {
    /// The chunk and the verdict.
    pub(crate) fn said(&self) -> (&str, &str) {
        (&self.chunk, &self.outcome)
    }

    pub(crate) fn finding(&self, what: &str) -> Option<&Found> {
        self.findings.iter().find(|found| found.what == what)
    }
}

/// A false start that was told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Begun {
    pub(crate) chunk: String,
    pub(crate) at_us: u64,
    pub(crate) notes: u64,
    /// The first place that was not reached.
    pub(crate) place: Option<(u64, String)>,
}

/// All that was said of a stream.
#[derive(Clone, Debug)]
pub(crate) struct Heard {
    pub(crate) attempts: Vec<Told>,
    pub(crate) false_starts: Vec<Begun>,
    /// For each record of the two when it began, in the order of the records.
    pub(crate) times: Vec<u64>,
}

impl Heard {
    /// Chunks and verdicts.
    pub(crate) fn said(&self) -> Vec<(&str, &str)> {
        self.attempts.iter().map(Told::said).collect()
    }
}

/// Listens to a stream with a study in mind.
pub(crate) fn listen(study: &str, stream: &Stream) -> Heard {
    let folder = Folder::new();
    let study = folder.write("own.study", study);
    let lines = folder.write("stream.txt", stream.lines());
    let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--no-log", "--events"];
    heard(&evenhand(&words).done().events())
}

/// The lines that people read of it.
pub(crate) fn read(study: &str, stream: &Stream) -> Vec<String> {
    let folder = Folder::new();
    let study = folder.write("own.study", study);
    let lines = folder.write("stream.txt", stream.lines());
    let words = ["listen", &study, "--timed", &lines, "--channels", "one", "--no-log", "--plain"];
    evenhand(&words).done().out.lines().map(str::to_owned).collect()
}

/// What the records say.
pub(crate) fn heard(events: &[Value]) -> Heard {
    let mut heard = Heard { attempts: Vec::new(), false_starts: Vec::new(), times: Vec::new() };
    let mut head = &Value::Null;
    for event in events {
        match event["kind"].as_str() {
            Some("attempt") => {
                head = event;
                heard.times.push(number(event, "at_us"));
            }
            Some("verdict") => heard.attempts.push(told(head, event)),
            Some("false-start") => {
                heard.times.push(number(event, "at_us"));
                heard.false_starts.push(Begun {
                    chunk: text(event, "chunk"),
                    at_us: number(event, "at_us"),
                    notes: number(event, "played_notes"),
                    place: place(event),
                });
            }
            _ => {}
        }
    }
    heard
}

fn told(head: &Value, verdict: &Value) -> Told {
    let findings = verdict["findings"].as_array().expect("a list");
    Told {
        chunk: text(verdict, "chunk"),
        // The streams of an earlier program know no parts.
        part_of: head["part_of"].as_str().map(str::to_owned),
        outcome: text(verdict, "verdict"),
        findings: findings.iter().map(found).collect(),
        at_us: number(head, "at_us"),
    }
}

fn found(finding: &Value) -> Found {
    Found {
        what: text(finding, "what"),
        bearing: text(finding, "bearing"),
        place: place(finding),
        count: number(finding, "count"),
        size: finding["size"].as_i64().expect("a size"),
    }
}

fn place(record: &Value) -> Option<(u64, String)> {
    Some((record["bar"].as_u64()?, record["beat"].as_str()?.to_owned()))
}

fn text(record: &Value, field: &str) -> String {
    record[field].as_str().unwrap_or_else(|| panic!("no text `{field}` in {record}")).to_owned()
}

fn number(record: &Value, field: &str) -> u64 {
    record[field].as_u64().unwrap_or_else(|| panic!("no number `{field}` in {record}"))
}
