//! The log, looked at with SQLite itself.

use evenhand::log::FILE;
use rusqlite::Connection;
use std::path::Path;

/// Opens the log in this folder, as any program with SQLite can.
///
/// # Panics
/// If it cannot be opened.
pub fn open(folder: impl AsRef<Path>) -> Connection {
    let file = folder.as_ref().join(FILE);
    assert!(file.exists(), "there is no {}", file.display());
    Connection::open(file).expect("the log can be opened")
}

/// A single number out of it.
///
/// # Panics
/// If the question gives none.
pub fn number(log: &Connection, sql: &str) -> i64 {
    log.query_row(sql, [], |row| row.get(0)).unwrap_or_else(|error| panic!("{sql}: {error}"))
}

/// What SQLite says of the file's soundness, `ok` if all is well.
///
/// # Panics
/// If it cannot be asked.
pub fn integrity(log: &Connection) -> String {
    log.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("it can be checked")
}

/// Makes a log of version 1 in this folder.
///
/// # Panics
/// If it cannot be made.
pub fn version_1(folder: impl AsRef<Path>) {
    made(folder.as_ref(), include_str!("../golden/log-version-1.sql"));
}

/// Makes a log of version 2 in this folder.
///
/// # Panics
/// If it cannot be made.
pub fn version_2(folder: impl AsRef<Path>) {
    made(folder.as_ref(), include_str!("../golden/log-version-2.sql"));
}

fn made(folder: &Path, sql: &str) {
    let log = Connection::open(folder.join(FILE)).expect("a file can be made");
    log.execute_batch(sql).expect("the log is right");
}
