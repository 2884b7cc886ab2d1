//! Attempts that a pedal kept, brought into the log. Bringing them twice is harmless.

use super::store::{Store, put_attempt, put_study};
use super::{Attempt, FILE, LogError, pack, written};
use jiff::Timestamp;
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};
use std::path::Path;

/// A sitting on a pedal, at one study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PedalSitting {
    /// The pedal's number.
    pub device: u64,
    /// The number of its memory.
    pub memory: u32,
    /// The sitting's number on it.
    pub sitting: u32,
    /// The hash of the study's text.
    pub study: u64,
    /// The title of the study.
    pub title: String,
    /// When its first attempt began.
    pub began: Timestamp,
    /// When its last attempt began.
    pub ended: Timestamp,
    /// Who plays, if that was said.
    pub who: Option<String>,
    /// What judged: the firmware.
    pub program: String,
    /// Where the notes come from.
    pub source: String,
}

impl PedalSitting {
    /// What tells it from every other.
    fn key(&self) -> String {
        let Self { device, memory, sitting, study, .. } = self;
        format!("pedal-{device:016x}-{memory}-{sitting}-{study:016x}")
    }
}

/// What became of attempts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ImportCount {
    /// New in the log.
    pub new: u32,
    /// There already.
    pub known: u32,
    /// Others are in their place: not kept.
    pub other: u32,
}

/// Brings sittings into the log in `folder`, all or nothing. When this returns, they are on the
/// disk.
///
/// # Errors
///
/// Why the log cannot be written.
pub fn bring(
    folder: &Path,
    sittings: &[(PedalSitting, Vec<Attempt>)],
) -> Result<ImportCount, LogError> {
    let mut store = Store::open(&folder.join(FILE))?;
    store.be_patient();
    let transaction = store.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut brought = ImportCount::default();
    for (sitting, attempts) in sittings {
        let id = put(&transaction, sitting)?;
        for attempt in attempts {
            match same(&transaction, id, attempt)? {
                None => {
                    put_attempt(&transaction, id, attempt)?;
                    brought.new += 1;
                }
                Some(true) => brought.known += 1,
                Some(false) => brought.other += 1,
            }
        }
    }
    transaction.commit()?;
    Ok(brought)
}

/// Remembers the text of a study that goes to a pedal, so that its results have it.
///
/// # Errors
///
/// Why the log cannot be written.
pub fn remember_study(folder: &Path, text: &str) -> Result<(), LogError> {
    let mut store = Store::open(&folder.join(FILE))?;
    let transaction = store.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    put_study(&transaction, &super::hash(text), text)?;
    transaction.commit()?;
    Ok(())
}

/// The text of a study that is in the log.
///
/// # Errors
///
/// Why the log cannot be read.
pub fn study_text(folder: &Path, study: u64) -> Result<Option<String>, LogError> {
    let Some(store) = Store::existing(&folder.join(FILE))? else { return Ok(None) };
    let text: Option<String> = store
        .connection
        .query_row("SELECT text FROM studies WHERE hash = ?1", [format!("{study:016x}")], |row| {
            row.get(0)
        })
        .optional()?;
    Ok(text.filter(|text| !text.is_empty()))
}

fn put(to: &Transaction<'_>, sitting: &PedalSitting) -> Result<i64, rusqlite::Error> {
    let study = format!("{:016x}", sitting.study);
    // Without its text, if this computer does not have it.
    put_study(to, &study, "")?;
    to.query_row(
        "INSERT INTO sittings (key, began_at, ended_at, program, who, study_path, study_name, \
         study_hash, channels, source) VALUES (?1, ?2, ?3, ?4, ?5, '', ?6, ?7, 'pedal', ?8) \
         ON CONFLICT (key) DO UPDATE SET ended_at = max(ended_at, excluded.ended_at) \
         RETURNING id",
        params![
            sitting.key(),
            written(sitting.began),
            written(sitting.ended),
            sitting.program,
            sitting.who,
            sitting.title,
            study,
            sitting.source,
        ],
        |row| row.get(0),
    )
}

/// Whether the attempt of this number is the same; none if there is none. When it began, and
/// the name of its chunk, may be known better at another time.
fn same(
    to: &Transaction<'_>,
    sitting: i64,
    attempt: &Attempt,
) -> Result<Option<bool>, rusqlite::Error> {
    to.query_row(
        "SELECT verdict = ?3 AND practised_hundredths = ?4 AND heard_hundredths IS ?5 \
         AND notes = ?6 FROM attempts WHERE sitting = ?1 AND number = ?2",
        params![
            sitting,
            attempt.number,
            attempt.verdict.word(),
            attempt.practised,
            attempt.heard,
            pack(&attempt.notes),
        ],
        |row| row.get(0),
    )
    .optional()
}
