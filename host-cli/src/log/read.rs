//! Reads the log.

use super::store::Store;
use super::{Attempt, Evidence, FILE, LogError, dispute, unpack};
use evenhand_core::verdict::Outcome;
use jiff::Timestamp;
use rusqlite::{Row, params};
use std::path::Path;

/// What is asked for. Names are compared without regard to case.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// The study: its title, or the name or path of its file.
    pub study: Option<String>,
    /// The chunk.
    pub chunk: Option<String>,
    /// Who played.
    pub who: Option<String>,
    /// Attempts since this time only.
    pub since: Option<Timestamp>,
    /// So many attempts only, the latest.
    pub last: Option<u32>,
    /// This sitting only, by its number.
    pub sitting: Option<i64>,
}

/// A sitting as it was kept, with those of its attempts that were asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredSitting {
    /// Its number.
    pub id: i64,
    /// When it began.
    pub began: Timestamp,
    /// When it ended; if it was cut off, when its last attempt was written.
    pub ended: Timestamp,
    /// Who played.
    pub who: Option<String>,
    /// What judged: name and version.
    pub program: String,
    /// The study's title.
    pub study: String,
    /// The path of its file.
    pub path: String,
    /// The hash of its text.
    pub hash: String,
    /// Its attempts, in order.
    pub attempts: Vec<Attempt>,
}

impl StoredSitting {
    /// Whether it was this person's.
    pub fn is_of(&self, who: &str) -> bool {
        self.who.as_ref().is_some_and(|played| same(played, who))
    }
}

/// The log, open for reading.
pub struct Reader {
    store: Store,
}

impl Reader {
    /// Opens the log in this folder, if there is one. A log of an older version is brought up
    /// to date.
    ///
    /// # Errors
    ///
    /// Why it cannot be opened.
    pub fn open(folder: &Path) -> Result<Option<Self>, LogError> {
        Ok(Store::existing(&folder.join(FILE))?.map(|store| Self { store }))
    }

    /// The sittings with attempts that were asked for, the latest last.
    ///
    /// # Errors
    ///
    /// Why they cannot be read.
    pub fn read(&self, filter: &Filter) -> Result<Vec<StoredSitting>, LogError> {
        let mut left = filter.last.unwrap_or(u32::MAX);
        let mut found = Vec::new();
        // From the latest on, because there may be a last to count.
        for mut sitting in self.sittings()?.into_iter().rev() {
            if left == 0 {
                break;
            }
            if !filter.takes(&sitting) {
                continue;
            }
            sitting.attempts = self.attempts(sitting.id, filter, left)?;
            left -= sitting.attempts.len() as u32;
            if !sitting.attempts.is_empty() {
                found.push(sitting);
            }
        }
        found.reverse();
        Ok(found)
    }

    /// The text of a study, by its hash.
    ///
    /// # Errors
    ///
    /// Why it cannot be read.
    pub fn study(&self, hash: &str) -> Result<String, LogError> {
        let connection = &self.store.connection;
        let sql = "SELECT text FROM studies WHERE hash = ?1";
        Ok(connection.query_row(sql, [hash], |row| row.get(0))?)
    }

    /// What a disputed attempt was judged by; none if it is not disputed.
    ///
    /// # Errors
    ///
    /// Why it cannot be read.
    pub fn evidence(&self, sitting: i64, number: u32) -> Result<Option<Evidence>, LogError> {
        let mut all = self.store.connection.prepare_cached(
            "SELECT music, pickup, click_us, messages FROM disputes \
             WHERE sitting = ?1 AND number = ?2",
        )?;
        let mut rows = all.query(params![sitting, number])?;
        let Some(row) = rows.next()? else { return Ok(None) };
        let messages = dispute::unpack(&row.get::<_, Vec<u8>>(3)?).ok_or(LogError::Damaged)?;
        Ok(Some(Evidence {
            music: row.get(0)?,
            pickup: row.get(1)?,
            click_us: row.get(2)?,
            messages,
        }))
    }

    fn sittings(&self) -> Result<Vec<StoredSitting>, LogError> {
        let mut all = self.store.connection.prepare(
            "SELECT id, began_at, ended_at, who, study_name, study_path, study_hash, program \
             FROM sittings ORDER BY began_at, id",
        )?;
        let mut rows = all.query([])?;
        let mut sittings = Vec::new();
        while let Some(row) = rows.next()? {
            sittings.push(StoredSitting {
                id: row.get(0)?,
                began: time(row, 1)?,
                ended: time(row, 2)?,
                who: row.get(3)?,
                study: row.get(4)?,
                path: row.get(5)?,
                hash: row.get(6)?,
                program: row.get(7)?,
                attempts: Vec::new(),
            });
        }
        Ok(sittings)
    }

    /// At most `most` attempts of a sitting, the latest, in order.
    fn attempts(&self, sitting: i64, filter: &Filter, most: u32) -> Result<Vec<Attempt>, LogError> {
        let mut all = self.store.connection.prepare_cached(
            "SELECT number, began_at, chunk, level, practised_hundredths, heard_hundredths, \
             verdict, attempts_together, findings, false_starts, interrupted, notes, \
             EXISTS (SELECT 1 FROM disputes WHERE disputes.sitting = attempts.sitting AND \
             disputes.number = attempts.number) \
             FROM attempts WHERE sitting = ?1 ORDER BY number DESC",
        )?;
        let mut rows = all.query(params![sitting])?;
        let mut attempts = Vec::new();
        while attempts.len() < most as usize
            && let Some(row) = rows.next()?
        {
            let (began, chunk) = (time(row, 1)?, row.get::<_, String>(2)?);
            let too_old = filter.since.is_some_and(|since| began < since);
            if !too_old && filter.chunk.as_ref().is_none_or(|wanted| same(wanted, &chunk)) {
                attempts.push(attempt(row, began, chunk)?);
            }
        }
        attempts.reverse();
        Ok(attempts)
    }
}

impl Filter {
    fn takes(&self, sitting: &StoredSitting) -> bool {
        let study = |wanted: &String| {
            let file = Path::new(&sitting.path).file_name().unwrap_or_default().to_string_lossy();
            let absolute = std::path::absolute(wanted).unwrap_or_default();
            same(wanted, &sitting.study)
                || same(wanted, &file)
                || same(wanted, file.strip_suffix(".study").unwrap_or_default())
                || absolute.display().to_string() == sitting.path
        };
        self.sitting.is_none_or(|id| id == sitting.id)
            && self.since.is_none_or(|since| sitting.ended >= since)
            && self.study.as_ref().is_none_or(study)
            && self.who.as_ref().is_none_or(|wanted| sitting.is_of(wanted))
    }
}

fn same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

fn attempt(row: &Row<'_>, began: Timestamp, chunk: String) -> Result<Attempt, LogError> {
    let verdict = match row.get::<_, String>(6)?.as_str() {
        "passed" => Outcome::Passed,
        "needs work" => Outcome::NeedsWork,
        "unclear" => Outcome::Unclear,
        _ => return Err(LogError::Damaged),
    };
    Ok(Attempt {
        number: row.get(0)?,
        began,
        chunk,
        level: row.get(3)?,
        practised: row.get(4)?,
        heard: row.get(5)?,
        verdict,
        together: row.get(7)?,
        findings: row.get(8)?,
        false_starts: row.get(9)?,
        interrupted: row.get(10)?,
        notes: unpack(&row.get::<_, Vec<u8>>(11)?).ok_or(LogError::Damaged)?,
        disputed: row.get(12)?,
    })
}

fn time(row: &Row<'_>, column: usize) -> Result<Timestamp, LogError> {
    row.get::<_, String>(column)?.parse().map_err(|_| LogError::Damaged)
}
