//! What is kept, in the event stream.

use crate::log::{self, Attempt, RawNote, StoredSitting};
use serde::Serialize;
use serde_json::Value;

/// A sitting in the event stream; see `docs/events.md`.
#[derive(Serialize)]
pub(super) struct SittingRecord<'a> {
    kind: &'static str,
    sitting: i64,
    began_at: String,
    ended_at: String,
    who: Option<&'a str>,
    study: &'a str,
    study_path: &'a str,
    study_hash: &'a str,
    attempts: usize,
}

impl<'a> SittingRecord<'a> {
    pub(super) fn of(sitting: &'a StoredSitting) -> Self {
        Self {
            kind: "sitting",
            sitting: sitting.id,
            began_at: log::written(sitting.began),
            ended_at: log::written(sitting.ended),
            who: sitting.who.as_deref(),
            study: &sitting.study,
            study_path: &sitting.path,
            study_hash: &sitting.hash,
            attempts: sitting.attempts.len(),
        }
    }
}

/// An attempt in the event stream.
#[derive(Serialize)]
pub(super) struct AttemptRecord<'a> {
    kind: &'static str,
    sitting: i64,
    attempt: u32,
    began_at: String,
    chunk: &'a str,
    level: &'a str,
    practised_hundredths: u32,
    heard_hundredths: Option<u32>,
    verdict: &'static str,
    attempts_together: u8,
    false_starts: u16,
    interrupted: bool,
    disputed: bool,
    findings: Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    notes: Option<Vec<NoteRecord>>,
}

impl<'a> AttemptRecord<'a> {
    pub(super) fn of(sitting: i64, attempt: &'a Attempt, with_notes: bool) -> Self {
        Self {
            kind: "kept-attempt",
            sitting,
            attempt: attempt.number,
            began_at: log::written(attempt.began),
            chunk: &attempt.chunk,
            level: &attempt.level,
            practised_hundredths: attempt.practised,
            heard_hundredths: attempt.heard,
            verdict: attempt.verdict.word(),
            attempts_together: attempt.together,
            false_starts: attempt.false_starts,
            interrupted: attempt.interrupted,
            disputed: attempt.disputed,
            findings: serde_json::from_str(&attempt.findings).unwrap_or_default(),
            notes: with_notes.then(|| attempt.notes.iter().map(NoteRecord::of).collect()),
        }
    }
}

/// A played note in the event stream.
#[derive(Serialize)]
struct NoteRecord {
    at_us: i32,
    lasted_us: Option<i32>,
    string: Option<u8>,
    pitch: u8,
    velocity: Option<u8>,
    began_by: u8,
}

impl NoteRecord {
    fn of(note: &RawNote) -> Self {
        Self {
            at_us: note.at_us,
            lasted_us: note.lasted_us,
            string: note.string,
            pitch: note.pitch,
            velocity: note.velocity,
            began_by: note.began_by.code(),
        }
    }
}
