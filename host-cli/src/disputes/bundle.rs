//! The file's lines, as they are written.

use super::VERSION;
use super::music::{ExpectedRecord, expected};
use crate::log::{Attempt, Evidence};
use serde::Serialize;
use serde_json::Value;
use std::fmt::Write;

/// The first line.
pub fn head() -> String {
    let program = concat!("evenhand ", env!("CARGO_PKG_VERSION"));
    text(&Head { kind: "disputed-attempts", version: VERSION, program })
}

#[derive(Serialize)]
struct Head {
    kind: &'static str,
    version: u32,
    program: &'static str,
}

/// The line of an attempt. `names` are the study's title and the chunk's name, where they are wanted.
pub fn line(
    attempt: &Attempt,
    program: &str,
    evidence: &Evidence,
    names: Option<(&str, &str)>,
) -> String {
    let music = evidence.music.as_slice();
    let (study, chunk) = names.unzip();
    text(&Line {
        kind: "disputed-attempt",
        study,
        chunk,
        program,
        level: &attempt.level,
        verdict: attempt.verdict.word(),
        attempts_together: attempt.together,
        findings: serde_json::from_str(&attempt.findings).unwrap_or_default(),
        expected: expected(music),
        music: in_hexadecimal(music),
        pickup: evidence.pickup.lines().collect(),
        click_us: evidence.click_us,
        messages: evidence
            .messages
            .iter()
            .map(|message| (message.at_us, in_hexadecimal(&message.bytes)))
            .collect(),
    })
}

/// What may be read of it stands first; what only a program reads last.
#[derive(Serialize)]
struct Line<'a> {
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    study: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chunk: Option<&'a str>,
    program: &'a str,
    level: &'a str,
    verdict: &'static str,
    attempts_together: u8,
    findings: Value,
    expected: Vec<ExpectedRecord>,
    pickup: Vec<&'a str>,
    click_us: Option<i64>,
    music: String,
    messages: Vec<(u32, String)>,
}

fn text(record: &impl Serialize) -> String {
    // Nothing in these can fail to be written.
    let mut line = serde_json::to_string(record).unwrap_or_default();
    line.push('\n');
    line
}

fn in_hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
