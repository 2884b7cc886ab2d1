//! Versions of the log, and the way from each to the next. Forward only.

use super::LogError;
use rusqlite::{Connection, TransactionBehavior};

/// The steps, each from the version before it. A step that was released is never changed.
const STEPS: [&str; 3] = [
    include_str!("migrations/0001.sql"),
    include_str!("migrations/0002.sql"),
    include_str!("migrations/0003.sql"),
];

/// The version of the log that this program writes.
pub const VERSION: u32 = STEPS.len() as u32;

/// Marks the file as ours: “EvHd” (SQLite's `application_id`, 4 bytes of its header).
const APPLICATION: u32 = u32::from_be_bytes(*b"EvHd");

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Content {
    Nothing,
    Version(u32),
}

/// Brings the log to this program's version, in one transaction; one that is there already is
/// only looked at.
pub(super) fn migrate(connection: &mut Connection) -> Result<(), LogError> {
    if content(connection)? == Content::Version(VERSION) {
        return Ok(());
    }
    let step = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have done it while this one waited for its turn.
    let from = match content(&step)? {
        Content::Nothing => 0,
        Content::Version(version) => version,
    };
    for sql in STEPS.iter().skip(from as usize) {
        step.execute_batch(sql)?;
    }
    step.pragma_update(None, "application_id", APPLICATION)?;
    step.pragma_update(None, "user_version", VERSION)?;
    step.commit()?;
    Ok(())
}

fn content(connection: &Connection) -> Result<Content, LogError> {
    let number = |name| connection.pragma_query_value(None, name, |row| row.get::<_, u32>(0));
    let version = number("user_version")?;
    if number("application_id")? == APPLICATION {
        return match version {
            0 => Err(LogError::Damaged),
            version if version > VERSION => Err(LogError::Newer { found: version }),
            version => Ok(Content::Version(version)),
        };
    }
    let tables: u32 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if version == 0 && tables == 0 { Ok(Content::Nothing) } else { Err(LogError::Foreign) }
}
