//! The file read again, and each attempt judged again.

use super::VERSION;
use super::music::prepared;
use crate::listening::{Finished, Listener};
use crate::log::Message;
use crate::pickup;
use crate::study::Prepared;
use evenhand_core::measure::timing::Click;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::Instant;
use serde::Deserialize;
use thiserror::Error;

/// When the first note begins, on the clock that an attempt is judged by again: room for a click before
/// it. Our default.
const BEGIN: u64 = 3_600_000_000;

/// Why a file cannot be read. Lines count from 1.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotRead {
    /// It begins with something else.
    #[error("it does not begin as a file of disputed attempts does")]
    Foreign,
    /// A newer program made it.
    #[error("version {0} of its format is not known here; this program reads {VERSION}")]
    Version(u32),
    /// A line is not right.
    #[error("line {line}: {what}")]
    Line {
        /// Which.
        line: usize,
        /// What is wrong in it.
        what: String,
    },
}

/// A disputed attempt, with all that it was judged by.
#[derive(Clone, Debug)]
pub struct Case {
    /// The verdict that was told.
    pub verdict: String,
    /// How many attempts it rested on. Only the last of them is here.
    pub together: u8,
    /// What was to be played.
    music: Prepared,
    config: SessionConfig,
    messages: Vec<Message>,
}

#[derive(Deserialize)]
struct Head {
    kind: String,
    version: u32,
}

#[derive(Deserialize)]
struct Line {
    kind: String,
    verdict: String,
    attempts_together: u8,
    music: String,
    pickup: Vec<String>,
    click_us: Option<i64>,
    messages: Vec<(u32, String)>,
}

/// Reads a file's text. Lines of kinds that are not known, and attempts without their music, are passed
/// over.
///
/// # Errors
///
/// What is wrong in it first.
pub fn read(text: &str) -> Result<Vec<Case>, NotRead> {
    let mut lines = (1..).zip(text.lines());
    let head = lines.next().and_then(|(_, line)| serde_json::from_str::<Head>(line).ok());
    let head = head.filter(|head| head.kind == "disputed-attempts").ok_or(NotRead::Foreign)?;
    if head.version != VERSION {
        return Err(NotRead::Version(head.version));
    }
    let mut cases = Vec::new();
    for (number, line) in lines {
        let wrong = |what: String| NotRead::Line { line: number, what };
        let kind: Kind = serde_json::from_str(line).map_err(|error| wrong(error.to_string()))?;
        if kind.kind != "disputed-attempt" {
            continue;
        }
        let line: Line = serde_json::from_str(line).map_err(|error| wrong(error.to_string()))?;
        // What fits no pack cannot be judged again.
        if !line.music.is_empty() {
            cases.push(case(line).map_err(wrong)?);
        }
    }
    Ok(cases)
}

#[derive(Deserialize)]
struct Kind {
    kind: String,
}

fn case(line: Line) -> Result<Case, String> {
    debug_assert_eq!(line.kind, "disputed-attempt");
    let music = bytes(&line.music).and_then(|bytes| prepared(&bytes));
    let music = music.ok_or("the music is no pack of one chunk")?;
    let pickup = pickup::parse(&line.pickup.join("\n")).map_err(|problems| {
        let what = problems.first().map_or_else(String::new, |problem| problem.what.clone());
        format!("the pickup's profile: {what}")
    })?;
    let start = |micros: i64| Click { start: at(micros) };
    let click = line.click_us.map(start);
    let mut messages = Vec::new();
    let mut latest = 0;
    for (at_us, text) in line.messages {
        let bytes = bytes(&text).ok_or_else(|| format!("“{text}” are no bytes"))?;
        if at_us < latest {
            return Err("its messages go back in time".to_owned());
        }
        latest = at_us;
        messages.push(Message { at_us, bytes });
    }
    let config = SessionConfig { pickup, click, ends: Ends::ByItself };
    Ok(Case { verdict: line.verdict, together: line.attempts_together, music, config, messages })
}

/// A time from the first note.
fn at(micros: i64) -> Instant {
    Instant::from_micros(BEGIN.saturating_add_signed(micros))
}

impl Case {
    /// How many notes came.
    pub fn notes(&self) -> u32 {
        let notes = self.messages.iter().filter(|message| begins_a_note(message)).count();
        u32::try_from(notes).unwrap_or(u32::MAX)
    }

    /// Judges it again, by itself: none if no attempt is heard in it any more.
    pub fn again(&self) -> Option<Finished<'_>> {
        let chunks = std::slice::from_ref(&self.music);
        let mut listener = Listener::for_attempts(chunks, self.config);
        for message in &self.messages {
            let now = at(message.at_us.into());
            if let Some(finished) = listener.poll(now) {
                return Some(finished);
            }
            listener.feed(&message.bytes, now, begins_a_note(message));
        }
        while let Some(due) = listener.poll_at() {
            if let Some(finished) = listener.poll(due) {
                return Some(finished);
            }
        }
        listener.finish()
    }
}

fn begins_a_note(message: &Message) -> bool {
    matches!(message.bytes[..], [0x90..=0x9f, _, velocity] if velocity > 0)
}

/// Bytes from hexadecimal.
fn bytes(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    let pairs = text.as_bytes().chunks(2).map(std::str::from_utf8);
    pairs.map(|pair| u8::from_str_radix(pair.ok()?, 16).ok()).collect()
}
