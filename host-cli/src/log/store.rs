//! The file: opened, and written to in whole transactions.
//!
//! Durability: a rollback journal (SQLite's `DELETE` mode) with `synchronous = EXTRA`. A commit
//! is on the disk when it returns: the pages, and the folder without the journal. Against a
//! write-ahead log it costs a few more waits for the disk, which at one attempt every few
//! seconds nobody notices. For that the log is one file at every moment between two attempts,
//! which can be copied, read where nothing may be written, and stand in a folder on a network.

use super::dispute;
use super::migrate::migrate;
use super::notes::pack;
use super::sitting::hash;
use super::{Attempt, Dispute, LogError, Sitting, Step, written};
use crate::private;
use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior, params};
use std::path::Path;
use std::time::Duration;

/// How long a commit waits for another program before practice goes on without it. Our
/// default: a delay that a player who waits for a verdict hardly notices.
const TURN: Duration = Duration::from_millis(250);

/// How long reading waits, before anybody plays: what is known from earlier days is worth it. Our
/// default: a backup of a year's log takes less.
const READING_TURN: Duration = Duration::from_secs(5);

/// How long the last try waits, when nobody plays any more. Our default.
const LAST_TURN: Duration = Duration::from_secs(2);

/// Something to be written.
#[derive(Clone, Debug)]
pub(super) enum Entry {
    Attempt(Attempt),
    Step { number: u32, step: Step },
    Dispute(Dispute),
}

/// The log, open.
pub(super) struct Store {
    pub(super) connection: Connection,
}

impl Store {
    /// Opens the log, and makes it where there is none.
    pub(super) fn open(file: &Path) -> Result<Self, LogError> {
        if let Some(folder) = file.parent() {
            private::folder(folder).map_err(|error| LogError::of_folder(folder, &error))?;
        }
        // So that it is nobody else's from its first byte on; what SQLite makes beside it has the
        // same rights. Why it cannot be made, SQLite says.
        let _ = private::file(file);
        Self::with(file, OpenFlags::SQLITE_OPEN_CREATE, TURN)
    }

    /// Opens the log if there is one.
    pub(super) fn existing(file: &Path) -> Result<Option<Self>, LogError> {
        match file.try_exists() {
            Ok(true) => {
                private::tighten(file);
                Self::with(file, OpenFlags::empty(), READING_TURN).map(Some)
            }
            Ok(false) => Ok(None),
            Err(error) => Err(LogError::of_folder(file, &error)),
        }
    }

    fn with(file: &Path, create: OpenFlags, turn: Duration) -> Result<Self, LogError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(file, flags | create)?;
        connection.busy_timeout(turn)?;
        connection.pragma_update(None, "foreign_keys", true)?;
        connection.pragma_update(None, "cell_size_check", true)?;
        connection.pragma_update(None, "synchronous", "EXTRA")?;
        migrate(&mut connection)?;
        Ok(Self { connection })
    }

    /// Waits longer for its turn from now on.
    pub(super) fn be_patient(&self) {
        // It only sets a number.
        let _ = self.connection.busy_timeout(LAST_TURN);
    }

    /// Writes the sitting as it is `now`, with these entries, all or nothing. What is there
    /// already is not written twice.
    pub(super) fn write<'e>(
        &mut self,
        sitting: &Sitting,
        now: Timestamp,
        entries: impl Iterator<Item = &'e Entry>,
    ) -> Result<(), LogError> {
        let behavior = TransactionBehavior::Immediate;
        let transaction = self.connection.transaction_with_behavior(behavior)?;
        let id = put_sitting(&transaction, sitting, now)?;
        for entry in entries {
            match entry {
                Entry::Attempt(attempt) => put_attempt(&transaction, id, attempt)?,
                Entry::Dispute(dispute) => put_dispute(&transaction, id, dispute)?,
                Entry::Step { number, step } => put_step(&transaction, id, *number, step)?,
            }
        }
        transaction.commit()?;
        Ok(())
    }
}

fn put_sitting(
    to: &Transaction<'_>,
    sitting: &Sitting,
    now: Timestamp,
) -> Result<i64, rusqlite::Error> {
    let study = &sitting.study;
    let study_hash = hash(&study.text);
    put_study(to, &study_hash, &study.text)?;
    let (pickup_name, pickup_hash) = sitting.pickup.clone().unzip();
    to.prepare_cached(
        "INSERT INTO sittings (key, began_at, ended_at, program, who, study_path, study_name, \
         study_hash, level, beats_a_minute, channels, source, pickup_name, pickup_hash) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14) \
         ON CONFLICT (key) DO UPDATE SET ended_at = excluded.ended_at RETURNING id",
    )?
    .query_row(
        params![
            sitting.key(),
            written(sitting.began),
            written(now),
            concat!("evenhand ", env!("CARGO_PKG_VERSION")),
            sitting.who,
            study.path,
            study.name,
            study_hash,
            sitting.level,
            sitting.beats_a_minute,
            sitting.channels,
            sitting.source,
            pickup_name,
            pickup_hash,
        ],
        |row| row.get(0),
    )
}

/// Keeps the text of a study. It may have been there without its text, from a pedal.
pub(super) fn put_study(
    to: &Transaction<'_>,
    hash: &str,
    text: &str,
) -> Result<(), rusqlite::Error> {
    to.prepare_cached(
        "INSERT INTO studies (hash, text) VALUES (?1, ?2) ON CONFLICT (hash) \
         DO UPDATE SET text = excluded.text WHERE text = ''",
    )?
    .execute(params![hash, text])?;
    Ok(())
}

pub(super) fn put_attempt(
    to: &Transaction<'_>,
    sitting: i64,
    attempt: &Attempt,
) -> Result<(), rusqlite::Error> {
    to.prepare_cached(
        "INSERT INTO attempts (sitting, number, began_at, chunk, level, practised_hundredths, \
         heard_hundredths, verdict, attempts_together, findings, false_starts, interrupted, \
         notes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13) \
         ON CONFLICT (sitting, number) DO NOTHING",
    )?
    .execute(params![
        sitting,
        attempt.number,
        written(attempt.began),
        attempt.chunk,
        attempt.level,
        attempt.practised,
        attempt.heard,
        attempt.verdict.word(),
        attempt.together,
        attempt.findings,
        attempt.false_starts,
        attempt.interrupted,
        pack(&attempt.notes),
    ])?;
    Ok(())
}

fn put_step(
    to: &Transaction<'_>,
    sitting: i64,
    number: u32,
    step: &Step,
) -> Result<(), rusqlite::Error> {
    to.prepare_cached(
        "INSERT INTO steps (sitting, number, taken_at, after_attempt, step, details) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6) ON CONFLICT (sitting, number) DO NOTHING",
    )?
    .execute(params![
        sitting,
        number,
        written(step.taken),
        step.after_attempt,
        step.step,
        step.details,
    ])?;
    Ok(())
}

fn put_dispute(
    to: &Transaction<'_>,
    sitting: i64,
    dispute: &Dispute,
) -> Result<(), rusqlite::Error> {
    let Dispute { number, disputed, evidence } = dispute;
    to.prepare_cached(
        "INSERT INTO disputes (sitting, number, disputed_at, music, pickup, click_us, messages) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT (sitting, number) DO NOTHING",
    )?
    .execute(params![
        sitting,
        number,
        written(*disputed),
        evidence.music,
        evidence.pickup,
        evidence.click_us,
        dispute::pack(&evidence.messages),
    ])?;
    Ok(())
}
